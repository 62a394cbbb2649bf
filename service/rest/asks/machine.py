"""The workshop's machine, as it is asked for."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import Field

from artwork.drawings.frame import Zero
from service.orders.machine import Machine
from service.rest.asks.base import Ask

_Mm = Annotated[float, Field(ge=0, le=20_000, allow_inf_nan=False, description="mm")]
_Minutes = Annotated[float, Field(ge=0, le=1_440, allow_inf_nan=False)]


class MachineAsk(Ask):
    """What a batch's drawings and sheets, and the plan of boards and days, are made for."""

    makes = Machine

    quarter_turns: Annotated[int, Field(ge=0, le=3, description="of drawings, to the left")] = 0
    mirrored: bool = False
    zero: Annotated[Zero, Field(description="where a drawing's zero lies")] = "slat"
    splines: Annotated[bool, Field(description="DXF outlines as splines, not closed polylines")] = False
    paper: Literal["A4", "Letter"] = "A4"
    bed_width: _Mm = 1219.2
    bed_length: _Mm = 2438.4
    board_length: _Mm = 2438.4
    board_width: _Mm = 139.7
    kerf: _Mm = 6.35
    end_trim: _Mm = 12.7
    day_minutes: Annotated[_Minutes, Field(description="at work in a day")] = 420.0
    load_minutes: Annotated[_Minutes, Field(description="to fix one carved board")] = 5.0
