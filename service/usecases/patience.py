"""Work that takes long: it is tried for some seconds first, then again in a lane of its own.

Ordinary art is read and judged in a second or two. What takes longer must not stand before everybody else's, so
its first try is short; the next waits in the patient lane, where one such work goes on at a time, and where an
order has a budget.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any, TypedDict

from artwork.errors import EngineError
from service.access import rate_limit
from service.orders.actors import System
from service.orders.work import JobKind
from service.usecases.context import Context
from service.usecases.opened import open_order
from service.usecases.payloads import CROWDED, FIRST_IN_A_RUSH, OVER_SHARE, PATIENT, TURN, WHENCE

QUICK_CPU_SECONDS = 3.0
"""Of the first try."""
_SLOW = frozenset({"too-slow", "too-much-work"})


class Try(TypedDict):
    """How one try is run; see ``Compute.run``."""

    cpu_seconds: float | None
    gentle: bool


def of_try(payload: Mapping[str, Any]) -> Try:
    """The first try is short; the second, and all in a rush, a crowd or over the share, let all else go first."""
    patient, rush = bool(payload.get(PATIENT)), int(payload.get(TURN, 0)) >= FIRST_IN_A_RUSH
    gentle = patient or rush or bool(payload.get(CROWDED) or payload.get(OVER_SHARE))
    return Try(cpu_seconds=None if patient else QUICK_CPU_SECONDS, gentle=gentle)


def is_to_be_tried_longer(payload: Mapping[str, Any], refusal: EngineError) -> bool:
    """Whether a try ended for being the short one."""
    return refusal.code in _SLOW and not payload.get(PATIENT)


def try_longer(ctx: Context, kind: JobKind, payload: Mapping[str, Any], order_id: str) -> EngineError | None:
    """Ask for the second try; where the order, or its sender's network, has none left, the refusal to give instead."""
    kept = {name: payload[name] for name in ("revision", WHENCE) if name in payload}
    budgets = [(rate_limit.PATIENT_WORK, order_id)]
    if payload.get(WHENCE):
        budgets.append((rate_limit.PATIENT_WORK_NETWORK, payload[WHENCE]))
    with open_order(ctx, System(payload["workshop"]), order_id, "refuse") as opened:
        waits = [rate_limit.count_attempt(opened.connection, *budget, opened.now) for budget in budgets]
        if not any(waits):
            opened.ask(kind, payload["subject"], patient=True, **kept)
            return None
    return EngineError(
        "too-much-work",
        "This order, or the network it comes from, has had all the computing time there is for it now.",
        "Send a simpler drawing: fewer points, or a smaller picture. Or send it again in some hours.",
    )
