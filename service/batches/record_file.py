"""The record of decisions as a file of the archive, and back."""

from __future__ import annotations

import json
from collections.abc import Iterable, Iterator, Mapping
from typing import Any

from service.batches.approvals import Decision
from service.orders.chain import body_of, canonical_digest
from service.orders.record import Entry, EntryKind


def record_line(entry: Entry, order_ids: frozenset[str], marks: frozenset[str]) -> str:
    """One entry: in full if it is about one of those orders or decides on one of those marks, else by its
    digests alone.
    """
    return json.dumps(_plain(entry, order_ids, marks), ensure_ascii=False, sort_keys=True)


def record_file(lines: Iterable[str]) -> bytes:
    """The whole file: a JSON array, an entry a line."""
    return ("[\n" + ",\n".join(lines) + "\n]\n").encode()


def _plain(entry: Entry, order_ids: frozenset[str], marks: frozenset[str]) -> dict[str, Any]:
    """Names, words and network addresses stay in the house: the entry's seal stands for them, and holds them
    to what they were for whoever may see them there.
    """
    of_mark = entry.order_id is None and entry.carving_id in marks
    if entry.order_id not in order_ids and not of_mark:
        return {"number": entry.number, "previous": entry.previous, "this": entry.this}
    return {**body_of(entry), "this": entry.this}


def read_decisions(entries: Iterable[Mapping[str, Any]]) -> list[Decision]:
    """What the approval rule needs, from a record file's entries."""
    return [
        Decision(
            entry["number"],
            EntryKind(entry["kind"]),
            entry["order"],
            entry["carving"],
            entry["digest"],
            entry["picture"],
            entry["facts"],
        )
        for entry in entries
        if "kind" in entry
    ]


def decision(entry: Entry) -> Decision:
    """What the approval rule needs of an entry."""
    return Decision(
        entry.number,
        entry.kind,
        entry.order_id,
        entry.carving_id,
        entry.digest,
        entry.picture,
        entry.facts,
    )


def chain_faults(entries: Iterable[Mapping[str, Any]]) -> Iterator[str]:
    """Where a record file does not hold together, in words."""
    before: Mapping[str, Any] | None = None
    for entry in entries:
        number = entry["number"]
        if before is not None and number != before["number"] + 1:
            yield f"record: between entries {before['number']} and {number} some are missing"
        elif before is not None and entry["previous"] != before["this"]:
            yield f"record: entry {number} does not follow from entry {before['number']}"
        if "kind" in entry:
            body = {key: value for key, value in entry.items() if key != "this"}
            if canonical_digest(body) != entry["this"]:
                yield f"record: entry {number} was changed; it no longer gives its own digest"
        before = entry
