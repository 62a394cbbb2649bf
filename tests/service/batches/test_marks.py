"""The workshop's own mark in an archive: let through by its own approval alone, and found wherever it was forged."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest

from service.batches.assemble import archive
from service.batches.content import BatchContent
from service.batches.errors import NotApprovedError
from service.batches.verify import verify
from service.orders.chain import canonical_digest
from service.orders.record import EntryKind
from tests.service.batches.making import SHOP, SIGNER, Book, Shelf, carving_of, joined, order_of, with_boards
from tests.service.batches.test_archive import KEY, rewritten, written

Enter = Callable[..., None]
Json = dict[str, Any]


def content(shelf: Shelf, decide: Callable[[Enter], None] | None = None) -> BatchContent:
    """A client's carving and the mark, on one order; ``decide`` enters what is decided about the mark."""
    order, book = order_of(7), Book()
    signed = carving_of(shelf, order, 1)
    mark = replace(carving_of(shelf, order, 2), id="mark-1", slat_key="back-rail", artwork=None, mark=1)

    def enter(kind: EntryKind, in_order: bool = False, **other: Any) -> None:
        shown = {"carving": mark.id, "digest": mark.digest, "picture": mark.picture} | other
        book.enter(kind, order.id if in_order else None, **shown)

    if decide is None:
        enter(EntryKind.MARK_APPROVAL)
    book.approve(signed)
    if decide is not None:
        decide(enter)
    else:
        enter(EntryKind.RELEASE, in_order=True)
    book.release(order.id)
    order = with_boards(shelf, order, [signed, mark])
    return BatchContent(
        "b1", SHOP, (order,), iter([signed, mark]), book.entries, shelf.get, marks=frozenset({mark.id})
    )


def whole(shelf: Shelf) -> bytes:
    return joined(archive(content(shelf), SIGNER))


def test_a_mark_with_its_approval_and_release_is_sound(tmp_path: Path):
    verdict = verify(written(tmp_path, whole(Shelf())), [KEY])
    assert verdict.sound, verdict.problems
    assert "1 of the workshop's own mark" in verdict.sentence


def _approved_after(enter: Enter) -> None:
    enter(EntryKind.RELEASE, in_order=True)
    enter(EntryKind.MARK_APPROVAL)


def _another(**other: str) -> Callable[[Enter], None]:
    def decide(enter: Enter) -> None:
        enter(EntryKind.MARK_APPROVAL, **other)
        enter(EntryKind.RELEASE, in_order=True)

    return decide


def _ended(enter: Enter) -> None:
    enter(EntryKind.MARK_APPROVAL)
    enter(EntryKind.MARK_END)
    enter(EntryKind.RELEASE, in_order=True)


def _recalled(enter: Enter) -> None:
    enter(EntryKind.MARK_APPROVAL)
    enter(EntryKind.RELEASE, in_order=True)
    enter(EntryKind.RECALL, in_order=True)


def _another_released(enter: Enter) -> None:
    enter(EntryKind.MARK_APPROVAL)
    enter(EntryKind.RELEASE, in_order=True, digest="e" * 64)


NOT_APPROVED = "has not approved this version of the mark"
NOT_RELEASED = "was not released with this mark"


@pytest.mark.parametrize(
    ("decide", "words"),
    [
        (lambda _: None, NOT_APPROVED),
        (lambda enter: enter(EntryKind.RELEASE, in_order=True), NOT_APPROVED),
        (lambda enter: enter(EntryKind.MARK_APPROVAL), NOT_RELEASED),
        (_approved_after, NOT_RELEASED),
        (_another(digest="e" * 64), NOT_APPROVED),
        (_another(picture="e" * 64), NOT_APPROVED),
        (_another(carving="mark-2"), NOT_APPROVED),
        (_another_released, NOT_RELEASED),
        (_ended, "had ended before the release"),
        (_recalled, "the release was taken back"),
    ],
)
def test_a_mark_that_was_not_let_through_stops_the_export(decide, words):
    with pytest.raises(NotApprovedError, match=words):
        joined(archive(content(Shelf(), decide), SIGNER))


# Forgeries of a finished archive.


def _record(change: Callable[[list[Json]], list[Json]], relink: bool = True) -> Callable[..., bytes]:
    """Another record; ``relink``: with a chain that holds, as somebody who knows its rule would make it."""

    def changed(name: str, body: bytes) -> bytes:
        if not name.endswith("record.json"):
            return body
        entries = change(json.loads(body))
        if relink:
            before = entries[0]["previous"]
            for number, entry in enumerate(entries, entries[0]["number"]):
                entry.update(number=number, previous=before)
                entry["this"] = canonical_digest({key: entry[key] for key in entry if key != "this"})
                before = entry["this"]
        return json.dumps(entries).encode()

    return changed


def _approval(**change: str) -> Callable[[list[Json]], list[Json]]:
    def changed(entries: list[Json]) -> list[Json]:
        return [{**each, **change} if each.get("kind") == "mark-approval" else each for each in entries]

    return changed


def _listed(change: Callable[[list[Json]], None]) -> Callable[..., bytes]:
    def changed(name: str, body: bytes) -> bytes:
        if not name.endswith("batch.json"):
            return body
        listing = json.loads(body)
        change(listing["orders"][0]["carvings"])
        return json.dumps(listing).encode()

    return changed


def _swapped(name: str, body: bytes) -> bytes:
    """Everything drawn of the mark replaced by somebody else's."""
    return body + b" " if "002-" in name and name.endswith(("proof.json", "preview.png", "art.dxf")) else body


FORGERIES = {
    "approval removed": (_record(lambda entries: entries[1:]), NOT_APPROVED),
    "approval removed, chain as it was": (_record(lambda entries: entries[1:], relink=False), NOT_APPROVED),
    "approval of another cut put in its place": (_record(_approval(digest="e" * 64)), NOT_APPROVED),
    "approval of another picture": (_record(_approval(picture="e" * 64)), NOT_APPROVED),
    "approval of another version": (_record(_approval(carving="mark-2")), NOT_APPROVED),
    "approval turned into its end": (_record(_approval(kind="mark-end")), NOT_APPROVED),
    "an approval that was changed": (
        _record(_approval(at="2027-01-01T00:00:00Z"), relink=False),
        "was changed; it no longer gives its own digest",
    ),
    "the art of the mark swapped": (_swapped, "proof.json is not the proof that was approved"),
    "a mark listed as another version": (
        _listed(lambda carvings: carvings[1].update(id="mark-2", mark=2)),
        NOT_APPROVED,
    ),
    "a mark passed off as the client's": (
        _listed(lambda carvings: carvings[1].update(mark=None)),
        "the client has not signed this proof",
    ),
    "a client's carving passed off as a mark": (
        _listed(lambda carvings: carvings[0].update(mark=1)),
        NOT_APPROVED,
    ),
}


def _bagged_anew(data: bytes) -> bytes:
    """Manifests that fit the changed files: a forger takes that trouble."""
    found: dict[str, str] = {}

    def note(name: str, body: bytes) -> bytes:
        found[name] = hashlib.sha256(body).hexdigest()
        return body

    def manifest(name: str, body: bytes) -> bytes:
        if name == "manifest-sha256.txt":
            lines = sorted(f"{digest}  {of}\n" for of, digest in found.items() if of.startswith("data/"))
            body = "".join(lines).encode()
            found[name] = hashlib.sha256(body).hexdigest()
        if name == "tagmanifest-sha256.txt":
            tags = [line.split("  ")[1] for line in body.decode().splitlines()]
            body = "".join(f"{found[tag]}  {tag}\n" for tag in tags).encode()
        return body

    return rewritten(rewritten(data, note), manifest)


@pytest.mark.parametrize("what", FORGERIES)
def test_a_forged_mark_is_found_and_said(tmp_path: Path, what: str):
    change, words = FORGERIES[what]
    forged = _bagged_anew(rewritten(whole(Shelf()), change))
    verdict = verify(written(tmp_path, forged), [KEY])
    assert not verdict.sound
    assert not verdict.signed_by
    assert any(words in problem for problem in verdict.problems), verdict.problems
    # beyond the rule about marks, the signed listing itself tells that something was exchanged
    others = [each for each in verdict.problems if words not in each]
    assert any("batch.json" in each for each in others), verdict.problems
