"""The life of an order and of each carving in it: one table, from which the drawing is made too."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from enum import StrEnum

from service.orders.actors import Role
from service.orders.errors import ConflictError, NotAllowedError


class OrderState(StrEnum):
    """Where an order stands."""

    DRAFT = "draft"
    SUBMITTED = "submitted"
    RELEASED = "released"
    IN_PRODUCTION = "in-production"
    DONE = "done"
    CANCELLED = "cancelled"


class CarvingState(StrEnum):
    """Where one carving stands. ``signed`` and ``feasible`` are half of what ``approved`` is."""

    NO_ART = "no-art"
    READING = "reading"
    REFUSED = "refused"
    CHECKING = "checking"
    CHECKED = "checked"
    OFFERED = "offered"
    SIGNED = "signed"
    FEASIBLE = "feasible"
    APPROVED = "approved"
    CHANGE_ASKED = "change-asked"
    REJECTED = "rejected"
    STALE = "stale"
    RELEASED = "released"


@dataclass(frozen=True)
class OrderStep:
    """One row of the order's table: who may take it from where to where (``to`` is ``None``: stays there)."""

    event: str
    sources: frozenset[OrderState]
    to: OrderState | None
    by: frozenset[Role]


@dataclass(frozen=True)
class CarvingStep:
    """One row of the carving's table; ``order`` holds the states its order must be in."""

    event: str
    sources: frozenset[CarvingState]
    to: CarvingState
    by: frozenset[Role]
    order: frozenset[OrderState]


_O, _C = OrderState, CarvingState
_MAKER = frozenset({Role.MAKER})
_SYSTEM = frozenset({Role.SYSTEM})
_BENCH = frozenset({Role.MAKER, Role.HELPER})
_CLIENT = frozenset({Role.CLIENT, Role.SHOP_SITE})
_EITHER = _CLIENT | _MAKER
_MAKER_OR_SITE = _MAKER | {Role.SHOP_SITE}
_OPEN = frozenset({_O.DRAFT, _O.SUBMITTED})
_SENT = frozenset({_O.SUBMITTED})
_MADE = frozenset({_O.RELEASED, _O.IN_PRODUCTION, _O.DONE})

ORDER_STEPS = (
    OrderStep("amend", _OPEN, None, _EITHER),
    OrderStep("submit", frozenset({_O.DRAFT}), _O.SUBMITTED, _EITHER),
    OrderStep("split", _SENT, None, _MAKER),
    OrderStep("pay", frozenset(_O), None, _MAKER_OR_SITE),
    OrderStep("release", _SENT, _O.RELEASED, _MAKER_OR_SITE),
    OrderStep("recall", frozenset({_O.RELEASED, _O.IN_PRODUCTION}), _O.SUBMITTED, _MAKER),
    OrderStep("start", frozenset({_O.RELEASED}), _O.IN_PRODUCTION, _BENCH),
    OrderStep("tick", _MADE, None, _BENCH),
    OrderStep("remake", _MADE, None, _BENCH),
    OrderStep("shift", _MADE, None, _BENCH),
    OrderStep("check-program", _SENT | _MADE, None, _BENCH),
    OrderStep("finish", frozenset({_O.IN_PRODUCTION}), _O.DONE, _BENCH),
    OrderStep("cancel", _OPEN, _O.CANCELLED, _EITHER),
    OrderStep("cancel", frozenset({_O.RELEASED, _O.IN_PRODUCTION}), _O.CANCELLED, _MAKER),
    OrderStep("write", frozenset(_O), None, _CLIENT | _BENCH),
    OrderStep("erase", _OPEN, _O.CANCELLED, _MAKER | _SYSTEM),
    OrderStep("erase", frozenset({_O.DONE, _O.CANCELLED}), None, _MAKER | _SYSTEM),
)

_WITH_ART = frozenset(_C) - {_C.NO_ART, _C.RELEASED}
_PROVED = frozenset(
    {_C.CHECKED, _C.OFFERED, _C.SIGNED, _C.FEASIBLE, _C.APPROVED, _C.CHANGE_ASKED, _C.REJECTED}
)
_BEFORE_CLIENT = frozenset({_C.OFFERED, _C.SIGNED, _C.FEASIBLE, _C.APPROVED})
_READ = _PROVED | {_C.STALE, _C.CHECKING, _C.REFUSED}

CARVING_STEPS = (
    CarvingStep("give-art", _WITH_ART | {_C.NO_ART}, _C.READING, _EITHER, _OPEN),
    CarvingStep("read", frozenset({_C.READING}), _C.CHECKING, _SYSTEM, _OPEN),
    CarvingStep("refuse", frozenset({_C.READING, _C.CHECKING}), _C.REFUSED, _SYSTEM, _OPEN),
    CarvingStep("fall-back", frozenset({_C.READING, _C.CHECKING}), _C.CHECKING, _SYSTEM, _OPEN),
    CarvingStep("fall-back-unread", frozenset({_C.READING, _C.CHECKING}), _C.READING, _SYSTEM, _OPEN),
    CarvingStep("change", _READ, _C.CHECKING, _EITHER, _OPEN),
    CarvingStep("judge-again", frozenset({_C.CHECKED}), _C.CHECKING, _SYSTEM, frozenset({_O.DRAFT})),
    CarvingStep("prove", frozenset({_C.CHECKING}), _C.CHECKED, _SYSTEM, _OPEN),
    CarvingStep("offer", frozenset({_C.CHECKED, _C.CHANGE_ASKED}), _C.OFFERED, _EITHER, _SENT),
    CarvingStep("offer", frozenset({_C.REJECTED}), _C.OFFERED, _MAKER, _SENT),
    CarvingStep("waive", frozenset({_C.OFFERED}), _C.OFFERED, _CLIENT, _SENT),
    CarvingStep("waive", frozenset({_C.FEASIBLE}), _C.FEASIBLE, _CLIENT, _SENT),
    CarvingStep("sign-off", frozenset({_C.OFFERED}), _C.SIGNED, _CLIENT, _SENT),
    CarvingStep("sign-off", frozenset({_C.FEASIBLE}), _C.APPROVED, _CLIENT, _SENT),
    CarvingStep("ask-change", _BEFORE_CLIENT | {_C.CHECKED}, _C.CHANGE_ASKED, _CLIENT, _SENT),
    CarvingStep("find-feasible", frozenset({_C.OFFERED}), _C.FEASIBLE, _MAKER, _SENT),
    CarvingStep("find-feasible", frozenset({_C.SIGNED}), _C.APPROVED, _MAKER, _SENT),
    CarvingStep("reject", _PROVED - {_C.REJECTED}, _C.REJECTED, _MAKER, _SENT),
    CarvingStep("outdate", _PROVED, _C.STALE, _MAKER | _SYSTEM, _OPEN),
    CarvingStep("release", frozenset({_C.APPROVED}), _C.RELEASED, _MAKER_OR_SITE, _SENT),
    CarvingStep(
        "recall", frozenset({_C.RELEASED}), _C.APPROVED, _MAKER, frozenset({_O.RELEASED, _O.IN_PRODUCTION})
    ),
)

_DOING = {
    "amend": "change the order",
    "submit": "send the order off",
    "split": "split the order",
    "pay": "say whether it is paid",
    "release": "release for production",
    "recall": "recall a release",
    "start": "start production",
    "tick": "tick items",
    "remake": "make a board again",
    "shift": "shift the art of a board",
    "check-program": "check a program",
    "finish": "finish production",
    "cancel": "cancel the order",
    "write": "write about the order",
    "erase": "erase the client's data",
    "give-art": "give it artwork",
    "change": "change the carving",
    "offer": "offer the proof",
    "waive": "accept remarks",
    "sign-off": "sign the proof off",
    "ask-change": "ask for a change",
    "find-feasible": "judge it feasible",
    "reject": "reject it",
}


def order_after(event: str, state: OrderState, role: Role) -> OrderState:
    """The order's state after ``event``, taken by ``role``.

    Raises:
        NotAllowedError: this role never takes this step.
        Conflict: ``"wrong-state"``, the step is not open to it from ``state``.
    """
    steps = [step for step in ORDER_STEPS if step.event == event]
    _permit(event, role, steps)
    for step in steps:
        if state in step.sources and role in step.by:
            return step.to or state
    raise _wrong_state(event, "the order", state)


def carving_after(event: str, state: CarvingState, role: Role, order: OrderState) -> CarvingState:
    """The carving's state after ``event``, taken by ``role`` while its order is in ``order``.

    Raises:
        NotAllowedError: this role never takes this step.
        Conflict: ``"wrong-state"``, the step is not open from here.
    """
    steps = [step for step in CARVING_STEPS if step.event == event]
    _permit(event, role, steps)
    for step in steps:
        if state in step.sources and role in step.by:
            if order not in step.order:
                raise _wrong_state(event, "the order", order)
            return step.to
    raise _wrong_state(event, "this carving", state)


def permit(event: str, role: Role) -> None:
    """Raises NotAllowedError where this role never takes a step of that name, of an order or of a carving."""
    _permit(event, role, [step for step in (*ORDER_STEPS, *CARVING_STEPS) if step.event == event])


def states_with(carvings: frozenset[CarvingState]) -> frozenset[OrderState]:
    """The states of orders in which some carving can be in one of these."""
    at_bench = {_O.RELEASED, _O.IN_PRODUCTION, _O.DONE, _O.CANCELLED}
    before = _OPEN | {_O.CANCELLED}
    found: set[OrderState] = set()
    if _C.RELEASED in carvings:
        found |= at_bench
    if carvings - {_C.RELEASED}:
        found |= before
    return frozenset(found)


def _permit(event: str, role: Role, steps: Sequence[OrderStep | CarvingStep]) -> None:
    if not any(role in step.by for step in steps):
        roles = {role for step in steps for role in step.by}
        people = sorted(role.value for role in (roles - _SYSTEM or roles))
        raise NotAllowedError(f"Only {' or '.join(people)} may {_DOING.get(event, event)}.")


def _wrong_state(event: str, what: str, state: str) -> ConflictError:
    return ConflictError("wrong-state", f"You cannot {_DOING.get(event, event)} while {what} is {state}.")
