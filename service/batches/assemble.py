"""Assembles a batch: facts and blobs in, the bytes of the archive out, one file after the other.

:func:`payload` is also what a verifier makes again from an archive, to compare it file by file.
"""

from __future__ import annotations

import hashlib
import json
import re
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, replace
from itertools import groupby
from operator import attrgetter
from typing import Any

from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey
from pydantic_core import from_json

from artwork.layout_json import layout_to_json
from service.batches.approvals import Claim, Decision, Decisions
from service.batches.bag import Bag
from service.batches.board_plan import boards_to_json
from service.batches.content import BatchContent, CarvingContent, OrderContent, ReadBlob
from service.batches.cut_list import cut_list
from service.batches.errors import DamagedFileError, NotApprovedError
from service.batches.job_sheet import job_sheet
from service.batches.jobs import JobList
from service.batches.record_file import decision, record_file, record_line
from service.batches.released import digests, made_facts, order_digest
from service.batches.signing import sign
from service.batches.terms import plain_terms
from service.orders.chain import canonical_digest, moment
from service.orders.units import Units

PROOF = "proof.json"
"""The facts of the proof as they were approved: this file's SHA-256 is the proof's digest."""
LISTING, SIGNATURE, RECORD = "batch.json", "batch.sig.json", "record.json"
FORMAT = 2
"""Version of ``batch.json``; see ``schema/batch.schema.json``. Format 1 does not say what its drawings were
made for and with, so they cannot be made again."""


def archive(content: BatchContent, signer: Ed25519PrivateKey) -> Iterator[bytes]:
    """The archive as a stream of bytes: the same content gives the same bytes.

    Args:
        content: what goes in.
        signer: the workshop's key.

    Raises:
        NotApprovedError: a carving is not signed, feasible and released for the very proof it claims.
        DamagedFileError: a blob's bytes are not the ones it is named by.

    Either may come after bytes have been given out: throw those away.
    """
    known, record = _read_record(content)
    content = replace(content, carvings=_with_sound_sources(content))
    bag = Bag(bag_folder(content.id))
    for file in payload(content, known, record, lambda listing: sign(listing, signer)):
        yield from bag.add(file.path, file.data, file.sha256)
    latest = max(moment(order.released_at) for order in content.orders)
    yield from bag.close(bag_info(content.shop.name, content.id, latest, content.shop.software))


def _with_sound_sources(content: BatchContent) -> Iterator[CarvingContent]:
    """The carvings. The original is not handed on, but a batch whose source was damaged is not one to cut from."""
    shelf = _Shelf(content.read)
    for carving in content.carvings:
        if carving.artwork is not None:
            shelf.look_at(carving.artwork.sha256, f"The artwork “{carving.artwork.name}”")
        yield carving


@dataclass(frozen=True)
class PayloadFile:
    """One file of the archive.

    Attributes:
        path: below ``data/``.
        sha256: of its bytes.
    """

    path: str
    data: bytes
    sha256: str


def payload(
    content: BatchContent, known: Decisions, record: bytes, signed: Callable[[bytes], bytes]
) -> Iterator[PayloadFile]:
    """The files of the archive in their order. NotApprovedError, DamagedFileError.

    Args:
        content: what goes in; its record is not read.
        known: the decisions of the record.
        record: the record's file.
        signed: gives the signature's file for the bytes of the listing.
    """
    orders = {order.id: order for order in content.orders}
    shelf = _Shelf(content.read)
    carved: dict[str, list[dict[str, Any]]] = {}
    files: list[dict[str, Any]] = []

    def put(path: str, data: bytes, digest: str = "") -> PayloadFile:
        file = PayloadFile(path, data, digest or sha256(data))
        files.append({"path": path, "sha256": file.sha256, "size": len(data)})
        return file

    for order_id, carvings in groupby(content.carvings, key=attrgetter("order_id")):
        order = orders[order_id]
        gathered = JobList(order.machine.frame, order.models, order.machine.language)
        entries = carved[order_id] = []
        for number, carving in enumerate(carvings, start=1):
            drawn = digests(carving.drawings)
            _refuse_unapproved(order, carving, drawn, known)
            name = f"{number:03}-{_carving_slug(carving)}"
            entry = _carving_entry(carving, f"{order_folder(order)}/{name}")
            for file, data, digest in _carving_files(carving, drawn, shelf, entry):
                yield put(f"{entry['folder']}/{file}", data, digest)
                if file == PROOF:
                    program = known.program_of(order.id, carving.digest)
                    gathered.add(carving, from_json(data), name, program)
            entries.append(entry)
        jobs = gathered.jobs
        yield put(f"{order_folder(order)}/job-sheet.pdf", job_sheet(content.shop, order, jobs, content.id))
        yield put(f"{order_folder(order)}/cut-list.csv", cut_list(order, jobs))
        for name, digest in sorted(order.sheets.items()):
            yield put(f"{order_folder(order)}/{name}", shelf.take(digest, f"The sheet {name}"), digest)
    yield put(RECORD, record)
    listing = as_json(
        {
            "format": FORMAT,
            "batch": content.id,
            "workshop": {"key": content.shop.key, "name": content.shop.name},
            "software": content.shop.software,
            "drawn_with": dict(content.shop.drawn_with),
            "orders": [_order_entry(order, carved.get(order.id, [])) for order in content.orders],
            "files": sorted(files, key=lambda file: str(file["path"])),
        }
    )
    yield PayloadFile(LISTING, listing, sha256(listing))
    signature = signed(listing)
    yield PayloadFile(SIGNATURE, signature, sha256(signature))


def bag_folder(batch_id: str) -> str:
    """The bag's own folder within the archive."""
    return f"batch-{_slug(batch_id)}"


def as_json(value: Any) -> bytes:
    """JSON with its keys in order: the same value gives the same bytes."""
    return (json.dumps(value, ensure_ascii=False, sort_keys=True) + "\n").encode()


def sha256(data: bytes) -> str:
    """64 hex digits."""
    return hashlib.sha256(data).hexdigest()


def order_folder(order: OrderContent) -> str:
    """Where an order's files stand in the archive."""
    return f"order-{order.number:05}"


def _read_record(content: BatchContent) -> tuple[Decisions, bytes]:
    """The decisions and the record's file, in one pass over the entries."""
    order_ids = frozenset(order.id for order in content.orders) | content.parts
    known: list[Decision] = []
    lines: list[str] = []
    for entry in content.record:
        known.append(decision(entry))
        lines.append(record_line(entry, order_ids, content.marks))
    return Decisions(known), record_file(lines)


def claim_of(order: OrderContent, carving: CarvingContent, drawn: Mapping[str, str]) -> Claim:
    """What must have been approved for a carving to leave; ``drawn``: digests of its drawings."""
    lines = [(line.key, line.name, line.quantity) for line in order.lines]
    made = made_facts(
        pieces=None if carving.mark is not None else carving.pieces,
        waived=carving.waived,
        check=carving.check,
        drawings=drawn,
        order=order_digest(order.number, lines, order.machine, order.address),
    )
    marked = carving.mark is not None
    return Claim(carving.order_id, carving.id, carving.digest, carving.picture, marked, made)


def _refuse_unapproved(
    order: OrderContent, carving: CarvingContent, drawn: Mapping[str, str], known: Decisions
) -> None:
    claim = claim_of(order, carving, drawn)
    reasons = tuple(known.missing(claim))
    if reasons:
        raise NotApprovedError(carving, reasons)


class _Shelf:
    """The blobs; reading one compares it with its digest."""

    def __init__(self, read: ReadBlob) -> None:
        self._read = read
        self._sound: set[str] = set()

    def take(self, digest: str, what: str) -> bytes:
        """The bytes of that digest. DamagedFileError, naming ``what`` they are."""
        try:
            return self._read(digest)
        except (KeyError, ValueError) as error:  # a store that does not answer is another matter: tried again
            raise DamagedFileError(what, digest) from error

    def look_at(self, digest: str, what: str) -> None:
        """Whether they are there and whole; each is read once."""
        if digest not in self._sound:
            self.take(digest, what)
            self._sound.add(digest)


def _carving_files(
    carving: CarvingContent, drawn: Mapping[str, str], shelf: _Shelf, entry: dict[str, Any]
) -> Iterator[tuple[str, bytes, str]]:
    """Name, bytes and digest of each file of one carving."""
    of = f"of carving {carving.id} ({carving.slat_name})"
    yield "preview.png", shelf.take(carving.picture, f"The preview {of}"), carving.picture
    for ending, data in sorted(carving.drawings.items()):
        yield f"art.{ending}", data, drawn[ending]
    yield PROOF, shelf.take(carving.digest, f"The proof {of}"), carving.digest
    described = as_json({**entry, "check": carving.check})
    yield "carving.json", described, sha256(described)


def _carving_entry(carving: CarvingContent, folder: str) -> dict[str, Any]:
    return {
        "id": carving.id,
        "order": carving.order_id,
        "line": carving.line,
        "model": {"key": carving.model_key, "name": carving.model_name},
        "slat": {"key": carving.slat_key, "name": carving.slat_name},
        "piece": carving.piece,
        "pieces": carving.pieces,
        "proof": {"number": carving.proof_number, "digest": carving.digest, "picture": carving.picture},
        "verdict": carving.check.get("verdict"),
        "accepted_remarks": list(carving.waived),
        "artwork": None
        if carving.artwork is None
        else {"name": carving.artwork.name, "sha256": carving.artwork.sha256},
        "text": carving.text,
        "mark": carving.mark,
        "folder": folder,
    }


def _order_entry(order: OrderContent, carvings: list[dict[str, Any]]) -> dict[str, Any]:
    return {
        "id": order.id,
        "number": order.number,
        "client": order.client,
        **({} if order.part_of is None else {"part_of": order.part_of}),
        **({} if order.units is Units.MM else {"units": order.units.value}),
        "address": order.address,
        "released_at": moment(order.released_at),
        "terms": plain_terms(order.terms),
        "quote": None
        if order.quote is None
        else {"digest": canonical_digest(order.quote), "facts": dict(order.quote)},
        "lines": [
            {"model": {"key": line.key, "name": line.name}, "quantity": line.quantity, "note": line.note}
            for line in order.lines
        ],
        "machine": order.machine.facts,
        "plan": list(order.plan),
        "boards": boards_to_json(order.boards),
        "models": {key: layout_to_json(model) for key, model in sorted(order.models.items())},
        "folder": order_folder(order),
        "carvings": carvings,
    }


def bag_info(shop: str, batch: str, released_at: str, software: str) -> Mapping[str, str]:
    """Tags of RFC 8493 §2.2.2; the date is that of the latest release: a batch knows no clock."""
    return {
        "Source-Organization": _one_line(shop),
        "External-Identifier": _one_line(batch),
        "Bagging-Date": released_at[:10],
        "Bag-Software-Agent": _one_line(software),
    }


def _one_line(text: str) -> str:
    return " ".join(text.split())


def _carving_slug(carving: CarvingContent) -> str:
    piece = "" if carving.piece is None else f"-piece-{carving.piece:03}"
    return f"{_slug(carving.slat_key)}{piece}"


def _slug(text: str) -> str:
    """Plain lower-case ASCII for a folder's name; never empty."""
    return re.sub(r"[^a-z0-9]+", "-", text.lower()).strip("-")[:60] or "x"
