"""Drafts that earlier rules judged: judged again by today's, in the background; what was signed keeps its proof."""

from __future__ import annotations

from artwork import ENGINE_VERSION
from service.orders.actors import System
from service.orders.states import CarvingState, OrderState
from service.orders.work import JobKind
from service.store import orders
from service.usecases.context import Context
from service.usecases.opened import open_carving

AT_ONCE = 200
"""So many at a time: after an upgrade in a busy season the queue stays open for what people ask for."""


def judge_drafts_again(ctx: Context) -> int:
    """Ask for new proofs of drafts whose proof is of an earlier engine, the oldest first; how many.

    Signed, offered and released proofs stand as they are, and so do carvings that are part of a suite, which
    is judged as a whole. Each is one transaction with its job: interrupted anywhere, the next call goes on.
    """
    with ctx.store.reading() as connection:
        found = orders.drafts_of_other_engines(connection, ENGINE_VERSION, AT_ONCE)
    asked = 0
    for workshop_id, carving_id in found:
        with open_carving(ctx, System(workshop_id), carving_id, "judge-again") as (opened, carving):
            proof = opened.proofs.get(carving_id)
            waits = carving.state is CarvingState.CHECKED and opened.order.state is OrderState.DRAFT
            if not waits or proof is None or proof.facts["engine"] == ENGINE_VERSION:
                continue  # somebody was faster
            moved = opened.move_carving(carving, "judge-again", proof_id=None, verdict=None, trouble=None)
            opened.ask(JobKind.PROVE, moved.id, revision=moved.revision)
            asked += 1
    return asked
