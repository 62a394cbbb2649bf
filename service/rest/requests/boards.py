"""Test boards, as they are asked for."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Annotated

from pydantic import Field

from service.orders.test_boards import AcceptFor, TestBoardContent
from service.rest.requests.base import Ask, asked

TestBoardAsk = asked(TestBoardContent, "TestBoardAsk", "What a test board is made of and with.")
ReadingKey = Annotated[str, Field(pattern=r"^[A-Z][0-9]{1,2}(-[0-9]{1,2})?\.[a-z]+$")]
Reading = Annotated[float, Field(ge=0, le=500, allow_inf_nan=False)]


class ReadingsAsk(Ask):
    """Readings of a test board, beside those there are."""

    readings: Annotated[
        Mapping[ReadingKey, Reading | None],
        Field(max_length=400, description="mm, or 1 and 0 for a tap; null forgets one"),
    ] = Field(default_factory=dict)
    confirmed: Annotated[
        tuple[ReadingKey, ...], Field(max_length=400, description="measured again and right")
    ] = ()
    note: Annotated[str | None, Field(max_length=500, description="null leaves it")] = None


class AcceptanceAsk(Ask):
    """What of a board's proposal is taken over."""

    names: Annotated[
        tuple[Annotated[str, Field(max_length=40)], ...],
        Field(min_length=1, max_length=10, description="of the proposal's changes"),
    ]
    accept_for: Annotated[
        AcceptFor, Field(description="the workshop, or the slats of the board's wood alone")
    ] = "workshop"
