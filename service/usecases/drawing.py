"""A proof's drawings at true size: made when first asked for, and always the same bytes."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from artwork.cut import Placement
from artwork.jsonable import allowances_from_json, bit_from_json, placement_from_json, slat_from_json
from service.orders.cuts import Circumstances
from service.orders.machine import Machine
from service.orders.proofs import Proof
from service.store import art
from service.usecases import computing
from service.usecases.context import Context
from service.usecases.naming import name_blobs

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


def drawing_of(ctx: Context, proof: Proof, form: str) -> str:
    """Digest of a proof's drawing in slat millimetres, in one of :data:`FORMS`. TooMany."""
    code = f"{form}{_SLAT.drawing_code}"
    with ctx.store.reading() as connection:
        known = art.find_drawing(connection, proof.id, code)
    if known is not None and ctx.blobs.size(known) is not None:
        return known
    at, placement = cut_of(proof)
    outline = ctx.blobs.get(proof.outline)
    drawing = ctx.compute.run(
        computing.draw, outline, at, placement, form, _SLAT, about=proof.outline, wait=_WAIT
    )
    digest = ctx.blobs.put(drawing)
    with ctx.store.writing() as connection:
        name_blobs(ctx, connection, (digest, drawing))
        art.keep_drawing(connection, proof.id, code, digest)
    return digest
