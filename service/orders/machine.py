"""The workshop's machine and how its work goes: what drawings, sheets, boards and days are made for."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import asdict, dataclass, fields
from math import isfinite
from typing import Any, Literal, get_args

from artwork.drawings import Bed, MachineFrame
from artwork.drawings.frame import Zero
from service.orders.errors import Problem

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

    quarter_turns: int = 0
    mirrored: bool = False
    zero: Zero = "slat"
    splines: bool = False
    paper: Paper = "A4"
    bed_width: float = 1219.2
    bed_length: float = 2438.4
    board_length: float = 2438.4
    board_width: float = 139.7
    kerf: float = 6.35
    end_trim: float = 12.7
    day_minutes: float = 420.0
    load_minutes: float = 5.0

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


_SPANS = {
    "bed_width": (100.0, 10_000.0),
    "bed_length": (100.0, 10_000.0),
    "board_length": (100.0, 20_000.0),
    "board_width": (20.0, 2_000.0),
    "kerf": (0.0, 20.0),
    "end_trim": (0.0, 500.0),
    "day_minutes": (10.0, 1_440.0),
    "load_minutes": (0.0, 240.0),
}


def machine_problems(machine: Machine) -> Iterator[Problem]:
    """What is wrong with a machine's settings."""
    if machine.quarter_turns not in range(4):
        yield Problem("quarter_turns", "out-of-range", "Give 0 to 3 quarter turns to the left.")
    if machine.zero not in get_args(Zero):
        yield Problem("zero", "unknown", f"Choose one of {', '.join(get_args(Zero))}.")
    if machine.paper not in get_args(Paper):
        yield Problem("paper", "unknown", "Choose A4 or Letter.")
    for name, (least, most) in _SPANS.items():
        value = getattr(machine, name)
        if not isfinite(value) or not least <= value <= most:
            yield Problem(name, "out-of-range", f"Give {least:g} to {most:g}.")
    if machine.board_length <= 2 * machine.end_trim:
        yield Problem("end_trim", "out-of-range", "Nothing is left of a board when so much is trimmed off.")
