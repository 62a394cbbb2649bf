"""The workshop's machine and how its work goes: what drawings, sheets, boards and days are made for."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import asdict, dataclass, fields
from typing import Annotated, Any, Literal, get_args

from pydantic import Field

from artwork.drawings import Bed, MachineFrame
from artwork.drawings.frame import Zero
from service.orders.errors import FieldError
from service.orders.texts import number_problems

Paper = Literal["A4", "Letter"]


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
        load_minutes: to fix one carved board and set the bit's zero.
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
    load_minutes: Annotated[float, Field(ge=0, le=240, description="to fix one carved board")] = 5.0

    @property
    def frame(self) -> MachineFrame:
        """How drawings lie on the machine."""
        return MachineFrame(self.quarter_turns, self.mirrored, self.zero)

    @property
    def bed(self) -> Bed:
        """The bed that a run is laid on."""
        return Bed(
            width=self.bed_width, length=self.bed_length, board_width=self.board_width, bit_diameter=self.kerf
        )

    @property
    def drawing_code(self) -> str:
        """Names drawings made for this machine; empty for slat millimetres with polylines."""
        zero = get_args(Zero).index(self.zero)
        plain = self.frame == MachineFrame() and not self.splines
        turned = f"{self.quarter_turns}{'m' if self.mirrored else 'n'}{zero}"
        return "" if plain else f"-{turned}{'s' if self.splines else 'p'}"

    @property
    def facts(self) -> dict[str, Any]:
        """As plain JSON values."""
        return asdict(self)


def machine_from(facts: Mapping[str, Any]) -> Machine:
    """The machine that :attr:`Machine.facts` came from; what a newer version knows besides is left out."""
    known = {field.name for field in fields(Machine)}
    return Machine(**{name: value for name, value in facts.items() if name in known})


def machine_problems(machine: Machine) -> Iterator[FieldError]:
    """What is wrong with a machine's settings."""
    if machine.zero not in get_args(Zero):
        yield FieldError("zero", "unknown", f"Choose one of {', '.join(get_args(Zero))}.")
    if machine.paper not in get_args(Paper):
        yield FieldError("paper", "unknown", "Choose A4 or Letter.")
    yield from number_problems(machine)
    if machine.board_length <= 2 * machine.end_trim:
        yield FieldError(
            "end_trim", "out-of-range", "Nothing is left of a board when so much is trimmed off."
        )
