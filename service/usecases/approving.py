"""Proofs and what people decide about them. Everything here names the proof shown and is recorded."""

from __future__ import annotations

from service.orders.actors import Actor
from service.orders.proofs import Shown
from service.usecases.answers import WholeOrder
from service.usecases.context import Context


def offer_proofs(ctx: Context, actor: Actor, order_id: str, shown: tuple[Shown, ...]) -> WholeOrder:
    """Put checked proofs before the client for signing. NotFound, NotAllowed, Conflict."""
    raise NotImplementedError


def waive(ctx: Context, actor: Actor, shown: Shown, remarks: tuple[str, ...]) -> WholeOrder:
    """The client accepts named remarks of one proof. NotFound, NotAllowed, Invalid, Conflict."""
    raise NotImplementedError


def sign_off(ctx: Context, actor: Actor, order_id: str, shown: tuple[Shown, ...]) -> WholeOrder:
    """The client signs exactly these proofs. NotFound, NotAllowed, Conflict "remarks-open", "not-current"."""
    raise NotImplementedError


def ask_for_change(
    ctx: Context,
    actor: Actor,
    shown: Shown,
    words: str,
    place: tuple[float, float] | None = None,
) -> WholeOrder:
    """The client asks for a change, pinned on a place (slat mm). NotFound, NotAllowed, Invalid, Conflict."""
    raise NotImplementedError


def find_feasible(
    ctx: Context, actor: Actor, order_id: str, shown: tuple[Shown, ...], words: str = ""
) -> WholeOrder:
    """The maker judges these proofs feasible. NotFound, NotAllowed, Conflict."""
    raise NotImplementedError


def reject(ctx: Context, actor: Actor, shown: Shown, reason: str) -> WholeOrder:
    """The maker rejects one proof with a reason. NotFound, NotAllowed, Invalid, Conflict."""
    raise NotImplementedError
