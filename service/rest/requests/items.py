"""Items as they are ticked and made again."""

from __future__ import annotations

from typing import Annotated

from pydantic import Field, StringConstraints

from service.orders.items import BreakReason, ItemState
from service.orders.limits import MOST_ORDERS
from service.rest.requests.base import Ask, Id, Millimetres

ItemKey = Annotated[str, StringConstraints(pattern=r"^([1-9][0-9]{0,4}-){3}[a-z0-9][a-z0-9-]{0,62}$")]


class TickAsk(Ask):
    """Items that were seen in one state and are in another now."""

    items: Annotated[tuple[ItemKey, ...], Field(min_length=1, max_length=500, description="by their keys")]
    seen: Annotated[ItemState, Field(description="the state that was shown to whoever ticks")]
    to: Annotated[ItemState, Field(description="the state they are in now; steps may be passed over")]


class RemakeAsk(Ask):
    """Why a board is made again."""

    reason: BreakReason
    words: Annotated[
        str, Field(max_length=500, description="what happened; needed where the reason is `other`")
    ] = ""


class ShiftAsk(Ask):
    """How far the art of one board is shifted from where it was signed, slat mm."""

    x: Annotated[Millimetres, Field(description="to the right")]
    y: Annotated[Millimetres, Field(description="upwards")]


class JointQuery(Ask):
    """Which orders share their boards."""

    orders: Annotated[
        tuple[Id, ...], Field(min_length=1, max_length=MOST_ORDERS, description="released ones")
    ]
