"""Machine programs held against what was signed, as functions that run in killable processes."""

from __future__ import annotations

import io
import re
from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from artwork.errors import EngineError
from service.batches.drawn import DrawnProof
from service.orders.machine import Machine
from service.orders.program_checks import (
    ProgramDanger,
    ProgramDifference,
    ProgramNote,
    ProgramOutcome,
    ProgramReport,
)

if TYPE_CHECKING:
    from artwork.cut import Cut
    from artwork.program import Comparison, Cutter, Program
    from artwork.workpiece import Bit

_COARSE = 2.0
"""Cells a mm while it is looked for which carving a program is."""
_OFFSET = re.compile(r"(G5[4-9](?:\.[1-3])?)=(-?[0-9.]+),(-?[0-9.]+),(-?[0-9.]+)")


@dataclass(frozen=True)
class ProgramReading:
    """How a program is to be read, where that is not plain.

    Attributes:
        bit: the V-bit in the spindle, where it is another than the one that was signed.
        flat_tool: T number of a straight bit that clears flat bottoms; ``None`` for none.
        flat_bit: its diameter, mm.
        offsets: where further work offsets' zeros lie from the first one's (``"G55=300,0,0"``, mm).
    """

    bit: Bit | None = None
    flat_tool: int | None = None
    flat_bit: float = 0.0
    offsets: tuple[str, ...] = ()


@dataclass(frozen=True)
class CheckedProgram:
    """What a check found.

    Attributes:
        which: place of the proof among those that were given.
        outcome: in a word; ``sentence`` for people.
        report: figures, places, dangers, remarks.
        picture: the differences on the slat, PNG.
    """

    which: int
    outcome: ProgramOutcome
    sentence: str
    report: ProgramReport
    picture: bytes


def check_program(
    data: bytes, proofs: Sequence[DrawnProof], machine: Machine, reading: ProgramReading
) -> CheckedProgram:
    """Hold a program against a proof; of several, against the one whose carving it comes nearest to. EngineError."""
    from artwork.program import compare

    program = _read(data, reading)
    cuts = [proof.cut() for proof in proofs]
    which = _nearest(program, cuts, machine, reading) if len(cuts) > 1 else 0
    cut = cuts[which]
    found = compare(program, cut, machine.frame, _cutters(cut, reading))
    return _told(found, program, cut, machine, which)


def _read(data: bytes, reading: ProgramReading) -> Program:
    from artwork.program import ProgramError, read_program

    lines = io.TextIOWrapper(io.BytesIO(data), "utf-8", errors="replace", newline=None)
    try:
        return read_program(lines, _offsets(reading.offsets) or None)
    except ProgramError as stopped:
        cure = (
            "Say where that offset's zero lies, or write one program for each."
            if stopped.code == "offset"
            else "Write it without that word, in plain G0 to G3, and check it again. Nothing is guessed."
        )
        raise EngineError("program-not-checked", str(stopped), cure) from None


def _offsets(told: Sequence[str]) -> dict[str, tuple[float, float, float]]:
    found = {}
    for each in told:
        match = _OFFSET.fullmatch(each.replace(" ", "").upper())
        if match is None:
            raise EngineError(
                "program-not-checked", f"“{each}” names no offset.", "Write it as G55=300,0,0, in mm."
            )
        name, x, y, z = match.groups()
        found[name] = (float(x), float(y), float(z))
    return found


def _cutters(cut: Cut, reading: ProgramReading) -> dict[int, Cutter]:
    from artwork.program import Cutter

    cutters = {0: Cutter.of(reading.bit or cut.bit)}
    if reading.flat_tool is not None:
        cutters[reading.flat_tool] = Cutter.straight(reading.flat_bit or cut.allowances.flat_bit or 6.35)
    return cutters


def _nearest(program: Program, cuts: Sequence[Cut], machine: Machine, reading: ProgramReading) -> int:
    """The cut that the program overlaps most, as the job sheet lays it."""
    from artwork.program.fields import fields_of, in_slat, overlap

    def shared(cut: Cut) -> float:
        ends = in_slat(program.moves, cut.slat.outline, machine.frame)
        return overlap(fields_of(program.moves, ends, cut, _cutters(cut, reading), _COARSE))

    return max(range(len(cuts)), key=lambda at: shared(cuts[at]))


def _told(found: Comparison, program: Program, cut: Cut, machine: Machine, which: int) -> CheckedProgram:
    from artwork.program.picture import difference_png

    report = ProgramReport(
        overlap=round(found.overlap, 4),
        missing_mm2=round(found.missing, 2),
        extra_mm2=round(found.extra, 2),
        depth_median_mm=round(found.depth_median, 3),
        depth_95_mm=round(found.depth_95, 3),
        places=found.places,
        differences=tuple(
            ProgramDifference(d.kind, round(d.x, 2), round(d.y, 2), round(d.area, 2), round(d.worst, 3))
            for d in found.differences
        ),
        dangers=tuple(ProgramDanger(d.kind, d.words, d.line, d.count) for d in found.dangers),
        minutes=round(found.minutes, 2),
        moves=len(program.moves),
        lines=program.lines,
        inches=program.inches,
        tools=program.tools,
        offsets=program.offsets,
        remarks=tuple(ProgramNote(r.code, r.message, r.line, r.count) for r in program.remarks),
        bit_comments=program.bit_words,
        bit=cut.bit.key,
        lies=machine.frame.words,
    )
    return CheckedProgram(which, found.outcome, found.sentence, report, difference_png(found.fields))
