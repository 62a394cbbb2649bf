"""Archives that somebody altered, up to whoever holds the workshop's own key: each is refused, in words.

The rows of docs/tampering.md that are about archives name these tests.
"""

from __future__ import annotations

import hashlib
import io
import json
import random
import zipfile
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest
from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey

from artwork.digest import facts
from service.batches.assemble import archive, as_json, bag_info
from service.batches.bag import Bag
from service.batches.content import BatchContent
from service.batches.drawn import DrawnProof, draw
from service.batches.errors import NotApprovedError
from service.batches.released import digests, made_facts, order_digest
from service.batches.signing import sign
from service.batches.verify import Verdict, verify
from service.orders.machine import Machine
from service.orders.record import EntryKind
from tests.artwork.relief.pieces import circle
from tests.artwork.relief.pieces import cut_of as cut_in
from tests.service.batches.making import (
    SHOP,
    SIGNER,
    SLAT,
    Book,
    Shelf,
    carving_of,
    joined,
    order_of,
    with_boards,
)

KEY = SIGNER.public_key().public_bytes_raw()
Files = dict[str, bytes]


def released() -> BatchContent:
    """One order, one carving, whose release names what it lets go, as today's use case enters it."""
    shelf, book = Shelf(), Book()
    order = order_of(7)
    carving = carving_of(shelf, order, 1)
    book.approve(carving)
    lines = [(line.key, line.name, line.quantity) for line in order.lines]
    made = made_facts(
        pieces=carving.pieces,
        waived=carving.waived,
        check=carving.check,
        drawings=digests(carving.drawings),
        order=order_digest(order.number, lines, order.machine, order.address),
    )
    book.enter(EntryKind.RELEASE, order.id, carving=carving.id, digest=carving.digest, facts=made)
    order = with_boards(shelf, order, [carving])
    return BatchContent("b1", SHOP, (order,), [carving], book.entries, shelf.get)


@pytest.fixture(scope="module")
def sound() -> bytes:
    return joined(archive(released(), SIGNER))


def verdict_on(folder: Path, data: bytes, *keys: bytes) -> Verdict:
    path = folder / "batch.zip"
    path.write_bytes(data)
    return verify(path, keys or (KEY,))


def payload_of(data: bytes) -> Files:
    with zipfile.ZipFile(io.BytesIO(data)) as opened:
        return {name.split("/data/")[1]: opened.read(name) for name in opened.namelist() if "/data/" in name}


def resigned(data: bytes, change: Callable[[Files, dict[str, Any]], None], signer: Any = SIGNER) -> bytes:
    """The archive with files changed by somebody who holds a key and makes every digest fit again."""
    files = payload_of(data)
    listing = json.loads(files["batch.json"])
    change(files, listing)
    listed = [name for name in files if name not in {"batch.json", "batch.sig.json"}]
    listing["files"] = [
        {"path": name, "sha256": hashlib.sha256(files[name]).hexdigest(), "size": len(files[name])}
        for name in sorted(listed)
    ]
    files["batch.json"] = as_json(listing)
    files["batch.sig.json"] = sign(files["batch.json"], signer)
    bag = Bag("batch-b1")
    pieces = [
        piece
        for name, body in files.items()
        for piece in bag.add(name, body, hashlib.sha256(body).hexdigest())
    ]
    latest = listing["orders"][0]["released_at"]
    info = bag_info(listing["workshop"]["name"], listing["batch"], latest, listing["software"])
    return b"".join([*pieces, *bag.close(info)])


def swapped_drawing(files: Files, _listing: dict[str, Any]) -> None:
    """Another order's circle in this one's drawing."""
    (name,) = [name for name in files if name.endswith("art.svg")]
    other = cut_in(circle(0, 650, 25), slat=SLAT)
    import rfc8785

    files[name] = draw(DrawnProof(rfc8785.dumps(facts(other)), "x"), Machine())["svg"]


def swapped_bed(files: Files, _listing: dict[str, Any]) -> None:
    files["order-00007/bed-01.svg"] = files["order-00007/bed-01.svg"].replace(b"M", b"M ", 1)


def more_pieces(files: Files, listing: dict[str, Any]) -> None:
    carving = listing["orders"][0]["carvings"][0]
    carving["pieces"] = 13
    own = json.loads(files[f"{carving['folder']}/carving.json"])
    files[f"{carving['folder']}/carving.json"] = as_json({**own, "pieces": 13})


def other_machine(_files: Files, listing: dict[str, Any]) -> None:
    listing["orders"][0]["machine"]["mirrored"] = True


def kinder_check(files: Files, listing: dict[str, Any]) -> None:
    name = f"{listing['orders'][0]['carvings'][0]['folder']}/carving.json"
    own = json.loads(files[name])
    own["check"]["figures"]["deepest_cut"] = 1.0
    files[name] = as_json(own)


def other_sheet(files: Files, _listing: dict[str, Any]) -> None:
    files["order-00007/job-sheet.pdf"] += b"\n"


def extra_file(files: Files, _listing: dict[str, Any]) -> None:
    files["order-00007/001-back-centre/art-2.svg"] = b"<svg/>"


INSIDE = {
    "another drawing": (swapped_drawing, "art.svg is not what this program makes"),
    "another bed layout": (swapped_bed, "bed-01.svg is not what this program makes"),
    "more pieces": (more_pieces, "the number of pieces is not what was released"),
    "another machine": (other_machine, "the order's lines, machine or address is not what was released"),
    "a kinder check": (kinder_check, "the check is not what was released"),
    "another job sheet": (other_sheet, "job-sheet.pdf is not what this program makes"),
    "one more file": (extra_file, "art-2.svg does not belong"),
}


@pytest.mark.parametrize("what", INSIDE)
def test_who_holds_the_workshops_key_cannot_alter_a_signed_archive(sound: bytes, tmp_path: Path, what: str):
    change, words = INSIDE[what]
    verdict = verdict_on(tmp_path, resigned(sound, change))
    assert words in verdict.sentence
    assert not verdict.sound
    assert not verdict.signed_by


def test_putting_the_archive_together_again_unaltered_is_sound(sound: bytes, tmp_path: Path):
    assert resigned(sound, lambda _files, _listing: None) == sound
    verdict = verdict_on(tmp_path, sound)
    assert verdict.sound, verdict.sentence
    assert "every drawing and sheet drawn anew from the proofs, and the same" in verdict.sentence


def test_an_archive_drawn_by_other_programs_is_held_to_what_the_release_names(sound: bytes, tmp_path: Path):
    def other(_files: Files, listing: dict[str, Any]) -> None:
        listing["drawn_with"]["ezdxf"] = "1.0"

    verdict = verdict_on(tmp_path, resigned(sound, other))
    assert verdict.sound, verdict.sentence
    assert "drawings compared with what the release names" in verdict.sentence
    assert "ezdxf 1.0" in verdict.sentence

    def and_swapped(files: Files, listing: dict[str, Any]) -> None:
        other(files, listing)
        swapped_drawing(files, listing)

    assert "a drawing is not what was released" in verdict_on(tmp_path, resigned(sound, and_swapped)).sentence


def commented(data: bytes) -> bytes:
    out = io.BytesIO(data)
    with zipfile.ZipFile(out, "a") as opened:
        opened.comment = b"read me"
    return out.getvalue()


def rezipped(data: bytes, **how: Any) -> bytes:
    """Written anew by another hand: the same files, another wrapping."""
    out = io.BytesIO()
    with zipfile.ZipFile(io.BytesIO(data)) as old, zipfile.ZipFile(out, "w", **how) as new:
        for entry in old.infolist():
            new.writestr(entry.filename, old.read(entry))
    return out.getvalue()


def other_info(data: bytes) -> bytes:
    """Another word in the bag's description, the tag manifest made to fit."""
    out = io.BytesIO()
    with zipfile.ZipFile(io.BytesIO(data)) as old, zipfile.ZipFile(out, "w") as new:
        info = next(old.read(name) for name in old.namelist() if name.endswith("bag-info.txt"))
        changed = info.replace(b"Oxbarrow", b"Oxburrow")
        for entry in old.infolist():
            body = old.read(entry).replace(info, changed)
            old_digest, digest = (hashlib.sha256(each).hexdigest().encode() for each in (info, changed))
            new.writestr(entry, body.replace(old_digest, digest))
    return out.getvalue()


def folder_with_data(data: bytes) -> bytes:
    out = io.BytesIO(data)
    with zipfile.ZipFile(out, "a") as opened:
        opened.writestr("batch-b1/data/order-00007/", b"hidden")
    return out.getvalue()


WRAPPINGS: dict[str, Callable[[bytes], bytes]] = {
    "something before it": lambda data: b"#!/bin/sh\necho hello\n" + data,
    "another archive before it": lambda data: rezipped(data) + data,
    "something after it": lambda data: data + b"\0" * 8,
    "a comment": commented,
    "another bag-info.txt": other_info,
    "a folder's entry with data": folder_with_data,
    "compressed": lambda data: rezipped(data, compression=zipfile.ZIP_DEFLATED),
    "other times and rights": rezipped,
}


@pytest.mark.parametrize("what", WRAPPINGS)
def test_an_archive_in_another_wrapping_is_not_ours(sound: bytes, tmp_path: Path, what: str):
    verdict = verdict_on(tmp_path, WRAPPINGS[what](sound))
    assert not verdict.sound
    assert verdict.problems[0]
    assert not verdict.signed_by


def test_a_substituted_key_is_told_from_the_workshops(sound: bytes, tmp_path: Path):
    other = Ed25519PrivateKey.from_private_bytes(b"x" * 32)
    forged = resigned(sound, lambda _files, _listing: None, other)
    assert "signed by another key" in verdict_on(tmp_path, forged).sentence
    without = verify(tmp_path / "batch.zip")
    assert "which is for you to compare" in without.sentence, "no key at hand: the sentence says so"


def test_flipped_bits_anywhere_are_found_and_told_in_words(sound: bytes, tmp_path: Path):
    """Every byte of the archive is one that would have been made: 300 places at random, in words each time."""
    dice = random.Random(13)
    small = [dice.randrange(len(sound) - 20_000, len(sound)) for _ in range(150)]  # directory and tags
    for place in small + [dice.randrange(len(sound)) for _ in range(150)]:
        bad = bytearray(sound)
        bad[place] ^= 1 << dice.randrange(8)
        verdict = verdict_on(tmp_path, bytes(bad))
        assert not verdict.sound, place
        assert "Traceback" not in verdict.sentence


@pytest.mark.parametrize("length", [0, 1, 30, 1000, 5000])
def test_beginnings_and_noise_are_refused_in_words(sound: bytes, tmp_path: Path, length: int):
    dice = random.Random(length)
    for data in (sound[:length], sound[len(sound) - length :], dice.randbytes(length)):
        assert not verdict_on(tmp_path, data).sound


NONSENSE: list[Any] = [None, 7, [], {}, "x", {"format": 2}, {"format": 9}, [[[]]], {"orders": 3, "files": 4}]


@pytest.mark.parametrize("what", ["batch.json", "record.json"])
@pytest.mark.parametrize("value", NONSENSE, ids=repr)
def test_listings_of_any_form_are_refused_in_words(sound: bytes, tmp_path: Path, what: str, value: Any):
    files = payload_of(sound)
    files[what] = json.dumps(value).encode()
    bag = Bag("batch-b1")
    pieces = [
        p for name, body in files.items() for p in bag.add(name, body, hashlib.sha256(body).hexdigest())
    ]
    verdict = verdict_on(tmp_path, b"".join([*pieces, *bag.close({})]))
    assert not verdict.sound


def test_what_is_not_as_released_is_not_exported_either():
    content = released()
    (carving,) = content.carvings
    other = {**carving.drawings, "svg": carving.drawings["svg"] + b" "}
    with pytest.raises(NotApprovedError, match="a drawing is not what was released"):
        joined(archive(replace(content, carvings=[replace(carving, drawings=other)]), SIGNER))
    with pytest.raises(NotApprovedError, match="the number of pieces is not what was released"):
        joined(archive(replace(content, carvings=[replace(carving, pieces=99)]), SIGNER))
    mirrored = replace(content.orders[0], machine=Machine(mirrored=True))
    with pytest.raises(NotApprovedError, match="machine"):
        joined(archive(replace(content, orders=(mirrored,)), SIGNER))
