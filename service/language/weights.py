"""Headers that list what is accepted, each with its weight (RFC 9110 §12.4.2)."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass


@dataclass(frozen=True)
class Accepted:
    """One entry of such a header.

    Attributes:
        value: lower case.
        parameters: those before ``q``, lower case, without quotes.
        weight: from 0 (not acceptable) to 1; a malformed one counts as 0.
        place: where it stands in the header.
    """

    value: str
    parameters: dict[str, str]
    weight: float
    place: int


def accepted(header: str) -> Iterator[Accepted]:
    """The entries of a header, in its order."""
    parts = (part for part in header.split(",") if part.strip())
    for place, part in enumerate(parts):
        value, *told = (each.strip() for each in part.split(";"))
        weight, parameters = 1.0, {}
        for each in told:
            name, _, given = each.partition("=")
            if name.strip().lower() == "q":
                weight = _weight(given.strip())
                break
            parameters[name.strip().lower()] = given.strip().strip("\"'").lower()
        yield Accepted(value.lower(), parameters, weight, place)


def _weight(text: str) -> float:
    try:
        found = float(text)
    except ValueError:
        return 0.0
    return found if 0 <= found <= 1 else 0.0
