"""What a program does: moves of the bit's tip, and what was noticed while reading."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, fields, replace
from math import radians, tan

import numpy as np
from numpy.typing import NDArray

from artwork.curves import Floats
from artwork.workpiece import Bit


class ProgramError(Exception):
    """A program that cannot be checked, with the line and the word that stopped it.

    Attributes:
        code: stable identifier, lower case with hyphens.
        message: what is the matter, a sentence.
        line: number of the line in the file, from 1; 0 where it is about the whole file.
        word: the word as it stands there.
    """

    def __init__(self, code: str, message: str, line: int = 0, word: str = "") -> None:
        super().__init__(
            code, message, line, word
        )  # all four, so that it survives pickling between processes
        self.code = code
        self.message = message
        self.line = line
        self.word = word

    def __str__(self) -> str:
        where = (
            f"line {self.line}" + (f", word {self.word}" if self.word else "") if self.line else "the file"
        )
        return f"This program cannot be checked: {where}: {self.message}"


@dataclass(frozen=True)
class ProgramRemark:
    """Something that was noticed and does not stop the check.

    Attributes:
        code: stable identifier.
        message: a sentence.
        line: the first line it was noticed in.
        count: how often.
    """

    code: str
    message: str
    line: int
    count: int = 1


@dataclass(frozen=True)
class Cutter:
    """The shape that a bit leaves when it stands still: a flat tip, then a cone, then a cylinder.

    Attributes:
        tip_radius: mm.
        slope: half-width gained per mm of depth, tan of half the included angle; 0 for a straight bit.
        radius: of the cylinder, mm.
    """

    tip_radius: float
    slope: float
    radius: float

    @staticmethod
    def of(bit: Bit) -> Cutter:
        """A V-bit's."""
        return Cutter(bit.tip_flat / 2, tan(radians(bit.angle_deg) / 2), bit.diameter / 2)

    @staticmethod
    def straight(diameter: float) -> Cutter:
        """A straight bit's, diameter in mm."""
        return Cutter(diameter / 2, 0.0, diameter / 2)


@dataclass(frozen=True, eq=False)
class Moves:
    """Straight moves of the bit's tip, in program order. mm; z upwards, 0 at the program's zero.

    Arcs and helices are here as chords. A move whose beginning is not known (the first of a program, the first
    after a return to the machine's own place) is not among them.

    Attributes:
        start, end: shape (n, 3).
        rapid: shape (n,), whether it is a G0.
        feed: shape (n,), mm per minute; not a number for rapid moves.
        line: shape (n,), the line of the file.
        tool: shape (n,), the T number in the spindle; 0 where none was called.
    """

    start: Floats
    end: Floats
    rapid: NDArray[np.bool_]
    feed: Floats
    line: NDArray[np.int32]
    tool: NDArray[np.int32]

    def __len__(self) -> int:
        return len(self.line)

    @property
    def lengths(self) -> Floats:
        """Shape (n,), mm."""
        return np.asarray(np.linalg.norm(self.end - self.start, axis=1))

    def chosen(self, which: NDArray[np.bool_]) -> Moves:
        """The moves of which ``which``, shape (n,), is true."""
        if which.all():
            return self
        return replace(self, **{each.name: getattr(self, each.name)[which] for each in fields(self)})


@dataclass(frozen=True, eq=False)
class Program:
    """A program that was read to its end.

    Attributes:
        moves: in mm.
        remarks: what was noticed.
        lines: of the file.
        inches: whether any length was written in inches.
        tools: T numbers called, in order of first use.
        offsets: names of the work offsets used (``"G54"``), in order of first use.
        dwell: seconds that G4 waits.
        tool_changes: how often M6 stands there.
        bit_words: comments that seem to name a bit: a suggestion, never taken for granted.
    """

    moves: Moves
    remarks: tuple[ProgramRemark, ...]
    lines: int
    inches: bool
    tools: tuple[int, ...]
    offsets: tuple[str, ...]
    dwell: float
    tool_changes: int
    bit_words: tuple[str, ...] = ()


@dataclass
class Noticed:
    """Remarks as they come up, each code once with its first line and its count."""

    found: dict[str, ProgramRemark] = field(default_factory=dict)

    def note(self, code: str, message: str, line: int) -> None:
        """Count one more of ``code``."""
        known = self.found.get(code)
        count = 1 if known is None else known.count + 1
        first = known or ProgramRemark(code, message, line)
        self.found[code] = ProgramRemark(code, first.message, first.line, count)


Point = tuple[float, float, float]
"""x, y, z of the tip, mm."""

Offsets = Mapping[str, tuple[float, float, float]]
"""Where a work offset's zero lies from that of the first one used, mm, by its name (``"G55"``)."""
