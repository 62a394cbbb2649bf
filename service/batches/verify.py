"""Checks a batch archive with nothing but the archive: files, signature, record, approvals; every byte made again."""

from __future__ import annotations

import hashlib
import json
import zipfile
from collections.abc import Collection, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from service.batches.approvals import Claim, Decisions
from service.batches.assemble import FORMAT
from service.batches.drawn import drawn_with
from service.batches.record_file import chain_faults, read_decisions
from service.batches.remaking import container_fault, payload_faults
from service.batches.signing import Signature, fingerprint, read_signature
from service.orders.chain import canonical_digest
from service.orders.record import EntryKind

CHUNK = 1 << 20
_ENCRYPTED = 0x1
LARGEST_LISTING = 256 << 20
"""``batch.json``, ``record.json`` and the manifests are read whole; a larger one is not one of ours."""
_TAGS = frozenset({"bagit.txt", "bag-info.txt", "manifest-sha256.txt", "tagmanifest-sha256.txt"})


@dataclass(frozen=True)
class Verdict:
    """What was found.

    Attributes:
        problems: what is wrong, in words, each naming its file or carving; none for a sound batch.
        batch: ``batch.json`` as read, empty when it could not be.
        signed_by: fingerprint of the key that signed, empty when the signature does not hold.
        known_key: whether that was compared with the workshop's keys.
        redrawn: whether its drawings were drawn anew and compared, which takes the programs that drew them.
    """

    problems: tuple[str, ...]
    batch: Mapping[str, Any] = field(default_factory=dict)
    signed_by: str = ""
    known_key: bool = False
    redrawn: bool = False

    @property
    def sound(self) -> bool:
        """Whether nothing is wrong."""
        return not self.problems

    @property
    def sentence(self) -> str:
        """The verdict for people."""
        if not self.sound:
            return f"This batch is not sound: {'; '.join(self.problems)}."
        every = [carving for order in self.batch["orders"] for carving in order["carvings"]]
        marks = sum(carving.get("mark") is not None for carving in every)
        carvings = len(every) - marks
        own = f"and {marks} of the workshop's own mark, approved by its maker and released, " if marks else ""
        return (
            f"This batch is sound: {carvings} {'carving' if carvings == 1 else 'carvings'}, "
            f"each signed, found feasible and released, {own}"
            f"no file changed; {self._drawn} signed by key {self.signed_by}"
            + ("." if self.known_key else ", which is for you to compare with the workshop's own.")
        )

    @property
    def _drawn(self) -> str:
        if self.redrawn:
            return "every drawing and sheet drawn anew from the proofs, and the same;"
        if self.batch["format"] == FORMAT:
            made = ", ".join(f"{name} {number}" for name, number in self.batch["drawn_with"].items())
            return f"drawings compared with what the release names (they were drawn by {made});"
        return "made before releases named their drawings, which only the listing's signature stands for;"


def verify(path: Path, trusted: Collection[bytes] = ()) -> Verdict:
    """Check one archive: its files, its signature, its record, and that it is what this program makes of them.

    Whatever is in the file, a verdict in words comes of it.

    Args:
        path: of the ZIP file.
        trusted: the workshop's public keys, 32 bytes each; without any the key in the archive is used, and
            whether that is the workshop's own is for the reader to compare by its fingerprint.
    """
    try:
        with zipfile.ZipFile(path) as opened:
            return _Archive(path, opened).verdict(frozenset(trusted))
    except zipfile.BadZipFile as error:
        return Verdict((f"the file is not a whole ZIP archive ({error})",))
    except _UnreadableError as error:
        return Verdict((str(error),))
    except OSError as error:
        return Verdict((f"the file cannot be read ({error})",))
    except Exception as error:  # noqa: BLE001 - a stranger's bytes may break any reader; none of it is sound
        return Verdict(
            (f"the archive is not of a form this program knows ({type(error).__name__}: {error})",)
        )


class _UnreadableError(Exception):
    """The archive lacks something without which nothing else can be checked."""


class _Archive:
    def __init__(self, path: Path, opened: zipfile.ZipFile) -> None:
        self._path, self._zip = path, opened
        entries = opened.infolist()
        for entry in entries:
            if entry.compress_type != zipfile.ZIP_STORED or entry.flag_bits & _ENCRYPTED:
                raise _UnreadableError(
                    f"{entry.filename!r} is compressed or locked; in our archives nothing is"
                )
            if entry.is_dir():
                raise _UnreadableError(f"{entry.filename!r} is a folder's entry; our archives have none")
        names = [entry.filename for entry in entries]
        tops = {name.split("/", 1)[0] for name in names if "/" in name}
        if len(tops) != 1 or any("/" not in name for name in names):
            raise _UnreadableError("the archive does not hold exactly one bag in one folder")
        self._folder = f"{tops.pop()}/"
        self._names = [name.removeprefix(self._folder) for name in names]
        self._known = frozenset(self._names)

    def verdict(self, trusted: frozenset[bytes]) -> Verdict:
        batch = self._json("data/batch.json")
        record = self._json("data/record.json")
        signature = read_signature(self._whole("data/batch.sig.json"))
        problems = [*self._files(batch), *self._signature(signature, trusted)]
        try:
            problems += self._decisions(batch, record)
            if not problems:  # what is made anew is made of files that are what they are named
                problems += self._made_again(batch, record)
        except (KeyError, TypeError, ValueError, AttributeError) as error:
            problems.append(f"batch.json or record.json is not of a form this program knows ({error!r})")
        signed_by = fingerprint(signature.key) if signature and not problems else ""
        return Verdict(tuple(problems), batch, signed_by, known_key=bool(trusted), redrawn=_redrawn(batch))

    def _made_again(self, batch: Mapping[str, Any], record: list[Mapping[str, Any]]) -> Iterator[str]:
        """What is not as this program would have made it from the rest."""
        if batch.get("format") not in {1, FORMAT}:
            yield f"batch.json is of format {batch.get('format')!r}, which this program does not know"
            return
        payload = [name.removeprefix("data/") for name in self._names if name.startswith("data/")]
        wrong = container_fault(self._path, payload, self._payload, batch)
        if wrong:
            yield f"the archive was wrapped by another hand: {wrong}"
        elif batch["format"] == FORMAT:
            known = Decisions(read_decisions(record))
            yield from payload_faults(batch, record, known, self._payload)

    def _payload(self, path: str) -> bytes:
        name = f"data/{path}"
        if name not in self._known:
            raise KeyError(name)
        return self._zip.read(self._folder + name)

    def _files(self, batch: Mapping[str, Any]) -> Iterator[str]:
        """Doubled, unlisted, missing and changed files, by the manifests and by the signed listing."""
        if len(set(self._names)) != len(self._names):
            yield "a file stands in the archive twice"
        payload, tags = self._manifest("manifest-sha256.txt"), self._manifest("tagmanifest-sha256.txt")
        listed = {f"data/{file['path']}": file["sha256"] for file in batch.get("files", ())}
        present = {name: self._digest(name) for name in self._names}
        for name in sorted(present.keys() - payload.keys() - _TAGS):
            yield f"{name} is not listed in the manifest"
        for name, digest in sorted({**payload, **tags}.items()):
            if name not in present:
                yield f"{name} is missing"
            elif present[name] != digest:
                yield f"{name} was changed or damaged"
        own = {"data/batch.json", "data/batch.sig.json"}
        for name in sorted((payload.keys() - own) ^ listed.keys()):
            yield f"{name} is not in both the manifest and batch.json"
        for name in sorted(payload.keys() & listed.keys()):
            if payload[name] != listed[name]:
                yield f"{name} is not the file that batch.json was signed with"

    def _signature(self, signature: Signature | None, trusted: frozenset[bytes]) -> Iterator[str]:
        if signature is None:
            yield "batch.sig.json holds no signature this program can read"
        elif not signature.fits(self._whole("data/batch.json")):
            yield "batch.json does not fit its signature: it was changed after signing"
        elif trusted and signature.key not in trusted:
            yield f"batch.json is signed by another key ({signature.fingerprint}), not by the workshop's"

    def _decisions(self, batch: Mapping[str, Any], record: list[Mapping[str, Any]]) -> Iterator[str]:
        """The record's chain, and for each carving its proof and its approvals."""
        yield from chain_faults(record)
        known = Decisions(read_decisions(record))
        for order in batch["orders"]:
            yield from _price_faults(order, record)
            for carving in order["carvings"]:
                where = f"order {order['number']}, {carving['slat']['name']} ({carving['folder']})"
                proof, folder = carving["proof"], f"data/{carving['folder']}"
                if self._digest(f"{folder}/proof.json") != proof["digest"]:
                    yield f"{where}: proof.json is not the proof that was approved"
                if self._digest(f"{folder}/preview.png") != proof["picture"]:
                    yield f"{where}: preview.png is not the picture that was signed"
                mark = carving.get("mark") is not None
                claim = Claim(order["id"], carving["id"], proof["digest"], proof["picture"], mark)
                yield from (f"{where}: {reason}" for reason in known.missing(claim))

    def _manifest(self, name: str) -> dict[str, str]:
        lines = self._whole(name).decode("utf-8", "replace").splitlines()
        parts = [line.split(None, 1) for line in lines if line.strip()]
        if any(len(part) != 2 for part in parts):
            raise _UnreadableError(f"{name} is not a manifest")
        return {part[1]: part[0].lower() for part in parts}

    def _json(self, name: str) -> Any:
        try:
            return json.loads(self._whole(name))
        except ValueError as error:
            raise _UnreadableError(f"{name} cannot be read ({error})") from error

    def _whole(self, name: str) -> bytes:
        if name not in self._names:
            raise _UnreadableError(f"{name} is missing")
        if self._zip.getinfo(self._folder + name).file_size > LARGEST_LISTING:
            raise _UnreadableError(f"{name} is too large to be one of ours")
        return self._zip.read(self._folder + name)

    def _digest(self, name: str) -> str:
        """SHA-256 of a file of the archive, read in pieces; empty when it is not there or cannot be read."""
        found = hashlib.sha256()
        try:
            with self._zip.open(self._folder + name) as file:
                while piece := file.read(CHUNK):
                    found.update(piece)
        except (KeyError, zipfile.BadZipFile):
            return ""
        return found.hexdigest()


def _redrawn(batch: Mapping[str, Any]) -> bool:
    return batch.get("format") == FORMAT and batch.get("drawn_with") == drawn_with()


def _price_faults(order: Mapping[str, Any], record: Sequence[Mapping[str, Any]]) -> Iterator[str]:
    """Whether the order's price is the one its client signed last, for it or for what is part of it."""
    quote = order.get("quote")
    if order.get("part_of") is not None and quote is None:
        return  # paid with the order that it is part of
    theirs = {
        entry["order"]
        for entry in record
        if entry.get("kind") == EntryKind.SPLIT and entry["facts"].get("order") == order["id"]
    } | {order["id"]}
    signed = [
        entry["facts"].get("quote")
        for entry in record
        if entry.get("kind") == EntryKind.SIGN_OFF and entry["order"] in theirs
    ]
    digest = None if quote is None else quote["digest"]
    if quote is not None and canonical_digest(quote["facts"]) != digest:
        yield f"order {order['number']}: the quote was changed; it no longer gives its own digest"
    if signed and signed[-1] != digest:
        yield f"order {order['number']}: the quote is not the one that the client signed"
