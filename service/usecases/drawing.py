"""A proof's drawings at true size: drawn when asked for, and always the same bytes."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from artwork.cut import Placement
from artwork.jsonable import allowances_from_json, bit_from_json, placement_from_json, slat_from_json
from service.batches.drawn import DrawnProof
from service.orders.cuts import Circumstances
from service.orders.machine import Machine
from service.orders.proofs import Proof
from service.usecases import computing
from service.usecases.context import Context

FORMS = {"svg": "image/svg+xml", "dxf": "image/vnd.dxf", "pdf": "application/pdf"}
"""Form → content type."""

_WAIT = 10.0
_SLAT = Machine()


def cut_of(proof: Proof) -> tuple[Circumstances, Placement]:
    """What a proof was made of, exactly, whatever the workshop has set since."""
    return cut_from(proof.facts)


def cut_from(made_of: Mapping[str, Any]) -> tuple[Circumstances, Placement]:
    """From :attr:`service.orders.proofs.Proof.facts`."""
    at = Circumstances(
        slat_from_json(made_of["slat"]),
        bit_from_json(made_of["bit"]),
        allowances_from_json(made_of["allowances"]),
    )
    return at, placement_from_json(made_of["placement"])


def drawing_of(ctx: Context, proof: Proof, form: str) -> bytes:
    """A proof's drawing in slat millimetres, in one of :data:`FORMS`, drawn of what its digest names. TooManyError."""
    drawn = DrawnProof(ctx.blobs.get(proof.digest), proof.facts["slat"]["name"])
    return ctx.compute.run(computing.draw_one, drawn, _SLAT, form, wait=_WAIT)
