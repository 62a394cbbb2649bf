"""What a release says of itself in the record, so that no row or file can say otherwise afterwards."""

from __future__ import annotations

import hashlib
from collections.abc import Iterable, Mapping, Sequence
from typing import Any

from service.orders.chain import canonical_digest
from service.orders.machine import Machine

MADE = ("pieces", "waived", "check", "drawings", "order")
"""Names of the facts of a release that whatever is exported by it must agree with."""
WORDS = {
    "pieces": "the number of pieces",
    "waived": "the accepted remarks",
    "check": "the check",
    "drawings": "a drawing",
    "order": "the order's lines, machine or address",
}


def digests(drawings: Mapping[str, bytes]) -> dict[str, str]:
    """File ending → SHA-256 of a carving's drawing."""
    return {form: hashlib.sha256(data).hexdigest() for form, data in sorted(drawings.items())}


def check_digest(check: Mapping[str, Any]) -> str:
    """Names a whole check: what was found, measured and required."""
    return canonical_digest(dict(check))


def order_digest(number: int, lines: Iterable[tuple[str, str, int]], machine: Machine, address: str) -> str:
    """Names what a release froze of its order.

    Args:
        number: of the order.
        lines: key and name of the model, and how many pieces.
        machine: that drawings and sheets are made for.
        address: where the order is seen in a browser.
    """
    return canonical_digest(
        {
            "number": number,
            "lines": [list(line) for line in lines],
            "machine": machine.facts,
            "address": address,
        }
    )


def made_facts(
    *,
    pieces: int | None,
    waived: Sequence[str],
    check: Mapping[str, Any],
    drawings: Mapping[str, str],
    order: str,
) -> dict[str, Any]:
    """The facts of a release of one carving; ``drawings`` by their digests, ``pieces`` where one entry says it."""
    facts: dict[str, Any] = {
        "waived": list(waived),
        "check": check_digest(check),
        "drawings": dict(drawings),
        "order": order,
    }
    return facts if pieces is None else facts | {"pieces": pieces}
