"""Machine programs that were held against what was signed."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from typing import Literal

MOST_BYTES = 50_000_000
"""Of one program."""
COMPARED = (
    "Compared: where the bit's shape goes, against the carving that was signed, after round-over and sanding; the "
    "depth limit, the board's edge, keep-outs, rapid moves below the face."
)
NOT_COMPARED = (
    "Not compared: clamps and how the board is held, the tool that is really in the spindle, its length and zero, "
    "feeds and speeds, the machine's own limits and switches. A check is no word that a program may be run: try it in "
    "the air first, stay at the machine, and follow its manual and your local rules."
)


ProgramOutcome = Literal["cuts-what-was-signed", "differs", "is-not-this-carving"]
DifferenceKind = Literal["missing", "extra", "shallow", "deep"]


@dataclass(frozen=True)
class ProgramDifference:
    """One place where program and signed carving part.

    Attributes:
        x, y: its middle, slat mm.
        area: mm².
        worst: largest difference of depth there, mm.
    """

    kind: DifferenceKind
    x: float
    y: float
    area: float
    worst: float


@dataclass(frozen=True)
class ProgramDanger:
    """One kind of move that can do harm.

    Attributes:
        kind: ``rapid-in-wood``, ``too-deep``, ``outside-blank``, ``keep-out``.
        words: a sentence with the figure.
        line: the first line that does it.
        count: how many moves do.
    """

    kind: str
    words: str
    line: int
    count: int


@dataclass(frozen=True)
class ProgramNote:
    """Something noticed while reading that does not stop the check.

    Attributes:
        line: the first it was noticed in.
        count: how often.
    """

    code: str
    message: str
    line: int
    count: int


@dataclass(frozen=True)
class ProgramReport:
    """What a check found.

    Attributes:
        overlap: carved area that both share over all carved area, 0 to 1.
        missing_mm2, extra_mm2: wood that stays and should go, that goes and should stay, mm².
        depth_median_mm: half of the depths are off by more; above 0 too deep.
        depth_95_mm: 95 % of the depths are off by less.
        places: how many differences there are.
        differences: the largest of them.
        dangers: moves that can do harm.
        minutes: of all moves, with acceleration.
        moves, lines: how many.
        inches: whether lengths were written in inches.
        tools, offsets: used, in order.
        remarks: what was noticed.
        bit_comments: comments that seem to name a bit: a suggestion only.
        bit: key of the bit that it was signed for.
        lies: how the slat was taken to lie.
    """

    overlap: float
    missing_mm2: float
    extra_mm2: float
    depth_median_mm: float
    depth_95_mm: float
    places: int
    differences: tuple[ProgramDifference, ...]
    dangers: tuple[ProgramDanger, ...]
    minutes: float
    moves: int
    lines: int
    inches: bool
    tools: tuple[int, ...]
    offsets: tuple[str, ...]
    remarks: tuple[ProgramNote, ...]
    bit_comments: tuple[str, ...]
    bit: str
    lies: str


@dataclass(frozen=True)
class ProgramCheck:
    """One program held against one proof. The program itself is not kept: its digest names it.

    Attributes:
        order_id, carving_id: what it is for.
        digest: of the proof.
        program: SHA-256 of the program's bytes; a changed file is another program.
        name, size: of the file; bytes.
        outcome: ``cuts-what-was-signed``, ``differs``, ``is-not-this-carving``.
        sentence: for people.
        report: figures, places, dangers, remarks.
        picture: SHA-256 of the PNG of the differences.
        entry: number of the record's entry.
        at, by: when, and the name of who asked.
    """

    id: str
    workshop_id: str
    order_id: str
    carving_id: str
    digest: str
    program: str
    name: str
    size: int
    outcome: ProgramOutcome
    sentence: str
    report: ProgramReport
    picture: str
    entry: int
    at: datetime
    by: str
