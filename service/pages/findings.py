"""A proof's findings with the numbers they are marked by, and what people said of it."""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping, Sequence
from typing import Any

Json = Mapping[str, Any]


def remarks_of(proof: Json) -> list[Json]:
    """A proof's findings with their numbers; those that only warn with the name they are accepted by."""
    names = iter(proof["remarks"])
    found: list[Json] = []
    for number, finding in enumerate(proof["check"]["findings"], start=1):
        name = next(names, None) if finding["severity"] == "warns" else None
        found.append(
            {
                "number": number,
                "finding": finding,
                "name": name,
                "waived": name is not None and name in proof["waived"],
            }
        )
    return found


FEW = 8
"""Places of one kind that an order's page puts into words; a page about the proof alone has them all."""


def foremost(findings: Sequence[Json], most: int | None) -> frozenset[int]:
    """Numbers of the ``most`` places worth looking at: the worst of each kind, then the next of each; all for ``None``.

    Findings come worst first within their kind.
    """
    seen: Counter[tuple[str, str]] = Counter()
    ranked = []
    for number, finding in enumerate(findings, start=1):
        kind = (finding["severity"], finding["kind"])
        ranked.append((seen[kind], number))
        seen[kind] += 1
    return frozenset(number for _, number in sorted(ranked)[:most])


SPOKEN_OF = frozenset({"rejected", "change-asked"})
"""States of carvings about whose proof somebody has said something."""
_SPOKEN = frozenset({"rejection", "change-request"})


def last_words(order: Json, record: list[Json]) -> dict[str, Json]:
    """Why each carving's current proof was rejected or is to be changed: carving id → entry of the record."""
    current = {c["proof"]["id"] for line in order["lines"] for c in line["carvings"] if c["proof"]}
    return {
        entry["carving_id"]: entry
        for entry in record
        if entry["kind"] in _SPOKEN and entry["proof_id"] in current
    }
