"""The workshop's machine and how its work goes: what drawings, sheets, boards and days are made for."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import asdict, dataclass, fields
from typing import Annotated, Any, Literal, get_args

from pydantic import Field

from artwork.drawings import Bed, MachineFrame
from artwork.drawings.frame import Zero
from service.orders.board_kinds import BoardKind, kind_problems, kinds_from
from service.orders.errors import FieldError
from service.orders.texts import number_problems

Paper = Literal["A4", "Letter"]
ZeroPer = Literal["board", "bed"]
Language = Literal["en", "de"]
ToolNumber = Annotated[int, Field(ge=0, le=999, description="of the bit in the machine")]
Speed = Annotated[float, Field(ge=0, le=100_000, description="turns per minute")]


@dataclass(frozen=True)
class Machine:
    """All that a batch's drawings and sheets, and the plan of boards and days, depend on besides the cuts.

    Attributes:
        quarter_turns, mirrored, zero: how drawings lie (:class:`artwork.drawings.MachineFrame`).
        splines: DXF outlines as splines instead of closed polylines.
        paper: what sheets are printed on.
        bed_width, bed_length: of the machine's bed, mm.
        board_length, board_width, kerf, end_trim: of the boards parts are cut from, mm.
        day_minutes: at work in a day.
        load_minutes: to fix one board and set the bit's zero.
        stock: the boards there are; empty: boards of ``board_length`` × ``board_width``, one inch thick, of any wood.
        bed_margin: kept free of boards along the bed's left and right edge, and of cuts at its ends, mm.
        board_spacing: between boards that lie side by side, mm.
        screw_radius: around a hold-down screw that no cut may come near, mm.
        tab_width, tab_height: of a tab that holds a part until it is sawn off, mm; a width of 0 leaves tabs out.
        tab_every: at most so far from one tab to the next along a part, mm.
        zero_per: whether the bit's zero is set on every board, or once for the bed.
        v_tool, flat_tool, straight_tool: numbers of the bits in the machine.
        v_speed, flat_speed, straight_speed: of the spindle, turns per minute.
        straight_feed, straight_plunge: of the straight bit, mm per minute.
        straight_pass: depth of one of its passes, mm.
        change_minutes: to change the bit.
        label_columns, label_rows: labels on a sheet.
        label_margin_x, label_margin_y, label_gap: of the sheet of labels, mm.
        language: of the sheets, and of mails to the workshop.
    """

    quarter_turns: Annotated[int, Field(ge=0, le=3, description="of drawings, to the left")] = 0
    mirrored: bool = False
    zero: Annotated[Zero, Field(description="where a drawing's zero lies")] = "slat"
    splines: Annotated[bool, Field(description="DXF outlines as splines, not closed polylines")] = False
    paper: Paper = "A4"
    bed_width: Annotated[float, Field(ge=100, le=10_000, description="mm")] = 1219.2
    bed_length: Annotated[float, Field(ge=100, le=10_000, description="mm")] = 2438.4
    board_length: Annotated[float, Field(ge=100, le=20_000, description="mm")] = 2438.4
    board_width: Annotated[float, Field(ge=20, le=2_000, description="mm")] = 139.7
    kerf: Annotated[float, Field(ge=0, le=20, description="mm")] = 6.35
    end_trim: Annotated[float, Field(ge=0, le=500, description="mm")] = 12.7
    day_minutes: Annotated[float, Field(ge=10, le=1_440, description="at work in a day")] = 420.0
    load_minutes: Annotated[float, Field(ge=0, le=240, description="to fix one board and set the zero")] = 5.0
    stock: Annotated[tuple[BoardKind, ...], Field(max_length=40)] = ()
    bed_margin: Annotated[float, Field(ge=0, le=500, description="mm")] = 6.0
    board_spacing: Annotated[float, Field(ge=0, le=500, description="mm")] = 12.0
    screw_radius: Annotated[float, Field(ge=0, le=100, description="mm")] = 8.0
    tab_width: Annotated[float, Field(ge=0, le=100, description="mm")] = 6.0
    tab_height: Annotated[float, Field(ge=0, le=100, description="mm")] = 3.0
    tab_every: Annotated[float, Field(ge=20, le=5_000, description="mm")] = 400.0
    zero_per: Annotated[ZeroPer, Field(description="where the bit's zero is set")] = "board"
    v_tool: ToolNumber = 1
    flat_tool: ToolNumber = 2
    straight_tool: ToolNumber = 3
    v_speed: Speed = 18_000.0
    flat_speed: Speed = 18_000.0
    straight_speed: Speed = 18_000.0
    straight_feed: Annotated[float, Field(ge=1, le=100_000, description="mm per minute")] = 2000.0
    straight_plunge: Annotated[float, Field(ge=1, le=100_000, description="mm per minute")] = 700.0
    straight_pass: Annotated[float, Field(ge=0.1, le=200, description="mm")] = 6.0
    change_minutes: Annotated[float, Field(ge=0, le=120, description="to change the bit")] = 3.0
    label_columns: Annotated[int, Field(ge=1, le=20)] = 3
    label_rows: Annotated[int, Field(ge=1, le=40)] = 8
    label_margin_x: Annotated[float, Field(ge=0, le=100, description="mm")] = 8.0
    label_margin_y: Annotated[float, Field(ge=0, le=100, description="mm")] = 12.0
    label_gap: Annotated[float, Field(ge=0, le=50, description="mm")] = 3.0
    language: Annotated[Language, Field(description="of the sheets, and of mails to the workshop")] = "en"

    @property
    def frame(self) -> MachineFrame:
        """How drawings lie on the machine."""
        return MachineFrame(self.quarter_turns, self.mirrored, self.zero)

    @property
    def bed(self) -> Bed:
        """The bed that a run is laid on."""
        return Bed(
            width=self.bed_width,
            length=self.bed_length,
            margin=self.bed_margin,
            spacing=self.board_spacing,
            screw_radius=self.screw_radius,
            bit_diameter=self.kerf,
            tab_width=self.tab_width,
            tab_height=self.tab_height,
            tab_every=self.tab_every,
        )

    @property
    def facts(self) -> dict[str, Any]:
        """As plain JSON values.

        What came later and is as usual is left out, so that a machine released before it was known keeps its digest.
        """
        usual = asdict(_USUAL)
        every = asdict(self)
        return {name: each for name, each in every.items() if name in _FIRST or each != usual[name]}


_USUAL = Machine()
_FIRST = frozenset(list(asdict(_USUAL))[: list(asdict(_USUAL)).index("stock")])
"""What every release froze since machines are settings."""


def machine_from(facts: Mapping[str, Any]) -> Machine:
    """The machine that :attr:`Machine.facts` came from; what a newer version knows besides is left out."""
    known = {field.name for field in fields(Machine)}
    given = {name: value for name, value in facts.items() if name in known}
    return Machine(**given | {"stock": kinds_from(facts.get("stock", ()))})


def machine_problems(machine: Machine) -> Iterator[FieldError]:
    """What is wrong with a machine's settings."""
    if machine.zero not in get_args(Zero):
        yield FieldError("zero", "unknown", f"Choose one of {', '.join(get_args(Zero))}.")
    if machine.paper not in get_args(Paper):
        yield FieldError("paper", "unknown", "Choose A4 or Letter.")
    if machine.language not in get_args(Language):
        yield FieldError("language", "unknown", f"Choose one of {', '.join(get_args(Language))}.")
    if machine.zero_per not in get_args(ZeroPer):
        yield FieldError("zero_per", "unknown", "Choose board or bed.")
    yield from kind_problems(machine.stock, machine.end_trim)
    yield from number_problems(machine)
    if machine.board_length <= 2 * machine.end_trim:
        yield FieldError(
            "end_trim", "out-of-range", "Nothing is left of a board when so much is trimmed off."
        )
