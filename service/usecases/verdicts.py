"""The verdicts of many carvings in one call."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Annotated

from artwork.findings.values import Verdict
from service.orders.actors import Actor
from service.orders.definition import OneOf, Trait
from service.orders.errors import FieldError, InvalidError
from service.orders.limits import MOST_VERDICTS
from service.orders.order import Carving
from service.orders.proofs import Proof
from service.orders.states import CarvingState
from service.store import art, orders
from service.usecases.context import Context
from service.usecases.guard import reach_of

Id = Annotated[str, Trait.ID]


@dataclass(frozen=True)
class CarvingVerdict:
    """Where one carving stands, in short.

    Attributes:
        carving_id, order_id: whose.
        state: where it stands.
        verdict: the current proof's; none while there is no proof.
        sentence: the verdict in words.
        proof_id, digest, picture: what a decision names.
        remarks: to be accepted by name before signing.
    """

    carving_id: Id
    order_id: Id
    state: CarvingState
    verdict: Annotated[str, OneOf(Verdict)] | None
    sentence: str | None
    proof_id: Id | None
    digest: str | None
    picture: str | None
    remarks: tuple[str, ...]


def list_verdicts(
    ctx: Context, actor: Actor, order_ids: tuple[str, ...] = (), carving_ids: tuple[str, ...] = ()
) -> tuple[CarvingVerdict, ...]:
    """The verdicts of these carvings, and of all carvings of these orders; what is not yours is left out.

    NotFoundError (nobody known), NotAllowedError, InvalidError (none, or more than 100, are named).
    """
    if not 1 <= len({*order_ids, *carving_ids}) <= MOST_VERDICTS:
        raise InvalidError(
            FieldError("", "count", f"Name 1 to {MOST_VERDICTS} orders and carvings in one call.")
        )
    reach = reach_of(actor)
    with ctx.store.reading() as connection:
        found = [
            *orders.carvings_of_orders(connection, reach, list(order_ids)),
            *orders.carvings_by_ids(connection, reach, list(carving_ids)),
        ]
        ids = [carving.proof_id for carving in found if carving.proof_id]
        proofs = {proof.id: proof for proof in art.brief_proofs_by_ids(connection, reach, ids)}
    return tuple(_verdict(each, proofs) for each in {carving.id: carving for carving in found}.values())


def _verdict(carving: Carving, proofs: Mapping[str, Proof]) -> CarvingVerdict:
    proof = proofs.get(carving.proof_id or "")
    return CarvingVerdict(
        carving.id,
        carving.order_id,
        carving.state,
        carving.verdict,
        None if proof is None else proof.sentence,
        carving.proof_id,
        None if proof is None else proof.digest,
        None if proof is None else proof.picture,
        () if proof is None else proof.remarks,
    )
