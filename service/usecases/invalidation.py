"""Settings have changed: which open proofs were made under others, and say so."""

from __future__ import annotations

from sqlalchemy import Connection

from service.orders.actors import Actor
from service.orders.cuts import bases_of, circumstances
from service.orders.errors import ConflictError
from service.orders.order import Carving, Line
from service.orders.states import CARVING_STEPS
from service.orders.workshop import Settings
from service.store import orders, shop
from service.usecases.context import Context
from service.usecases.opened import open_within

_CAN_GO_STALE = next(step for step in CARVING_STEPS if step.event == "outdate").sources


def outdate_open_proofs(ctx: Context, actor: Actor, connection: Connection, because: str) -> list[str]:
    """Mark every open proof stale that would be another cut under the settings now stored; their digests.

    The caller holds the workshop's settings. Released proofs keep theirs.
    """
    settings = shop.read_settings(connection, actor.workshop_id)
    known: dict[object, frozenset[str]] = {}
    stale: dict[str, list[str]] = {}
    for carving, line, basis in orders.open_cuts(connection, actor.workshop_id, _CAN_GO_STALE):
        if basis not in _bases(carving, line, settings, known, signed=False):
            stale.setdefault(carving.order_id, []).append(carving.id)
    digests = []
    for order_id, carving_ids in sorted(stale.items()):
        opened = open_within(ctx, actor, connection, order_id, "outdate")
        for carving_id in carving_ids:
            proof, carving = opened.proofs[carving_id], opened.carving(carving_id)
            line = opened.lines[carving.line_id]
            if proof.signed_at is not None and proof.basis in _bases(
                carving, line, settings, known, signed=True
            ):
                continue
            opened.move_carving(opened.carving(carving_id), "outdate")
            opened.stand(proof, stale_because=because, signed_at=None, judged_at=None)
            digests.append(proof.digest)
        opened.close()
    return digests


def _bases(
    carving: Carving, line: Line, settings: Settings, known: dict[object, frozenset[str]], *, signed: bool
) -> frozenset[str]:
    """Worked out once for all carvings alike; none: it cannot be cut any more."""
    allowances = tuple(sorted(carving.allowances.items()))
    key = (line.model_key, carving.slat_key, carving.bit_key, carving.thickness, allowances, signed)
    if key not in known:
        try:
            known[key] = bases_of(circumstances(carving, line, settings), signed=signed)
        except ConflictError:
            known[key] = frozenset()
    return known[key]
