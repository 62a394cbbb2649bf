"""Machine programs held against what was signed, as functions that run in killable processes."""

from __future__ import annotations

import io
import re
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
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
    from artwork.program import BedComparison, Comparison, Cutter, Program
    from artwork.workpiece import Bit
    from service.batches.content import OrderContent

_GOOD: Sequence[ProgramOutcome] = ("is-not-this-carving", "differs", "cuts-what-was-signed")
_BED_LIES = "on its board as the bed's drawing has it; zero at the bed's lower left corner"
_USUAL_FLAT_BIT = 6.35
"""Diameter of a straight bit that nobody has told, mm (1/4 in)."""
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
class CheckedCarving:
    """What a check of a whole bed found of one carving.

    Attributes:
        digest: of its proof.
        places: how often it lies on that bed; what is told is the worst of these.
        outcome, sentence, report, picture: as of :class:`CheckedProgram`.
    """

    digest: str
    places: int
    outcome: ProgramOutcome
    sentence: str
    report: ProgramReport
    picture: bytes


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


def check_bed_program(
    data: bytes, order: OrderContent, proofs: Mapping[str, DrawnProof], bed: int, reading: ProgramReading
) -> tuple[CheckedCarving, ...]:
    """Hold a program against everything that is carved on one bed of an order: each carving once. EngineError.

    Args:
        data: of the program.
        order: with its boards, models and machine, as its bed drawings are made of them.
        proofs: by digest, of everything carved.
        bed: its number, from 1.
        reading: how the program is to be read.
    """
    from artwork.program import Cutter, compare_bed
    from service.batches.order_sheets import bed_plan

    layouts = bed_plan([order], proofs)
    if not 1 <= bed <= len(layouts):
        told = f"This order has {len(layouts)} beds."
        raise EngineError("no-such-bed", told, "Give the number that the bed's drawing has.")
    program = _read(data, reading)
    tools = {order.machine.straight_tool} - {order.machine.v_tool, reading.flat_tool}
    cutters = (
        {} if reading.flat_tool is None else {reading.flat_tool: Cutter.straight(_flat_bit(reading, None))}
    )
    if reading.bit is not None:
        cutters[0] = Cutter.of(reading.bit)
    found = compare_bed(program, layouts[bed - 1], cutters, tools)
    if not found.parts:
        raise EngineError("no-such-bed", found.sentence, "Choose a bed with a carving.")
    return tuple(_carvings_told(found, program, order))


def _carvings_told(found: BedComparison, program: Program, order: OrderContent) -> Iterator[CheckedCarving]:
    """Every carving of the bed by its proof, at the worst of its places, with what the whole bed's moves do."""
    from artwork.program.picture import difference_png
    from service.batches.order_sheets import digest_by_label

    digests = digest_by_label(order)
    together: dict[str, list[tuple[Comparison, Cut]]] = {}
    for part, comparison in found.parts:
        if part.part.cut is not None:
            together.setdefault(digests[part.part.label], []).append((comparison, part.part.cut))
    for digest, several in together.items():
        worst, cut = min(several, key=lambda each: (_GOOD.index(each[0].outcome), each[0].overlap))
        outcome = worst.outcome
        if outcome == "cuts-what-was-signed" and found.outcome != outcome and _astray(found):
            outcome = "differs"
        whole = replace(worst, dangers=(*found.dangers, *worst.dangers), minutes=found.minutes)
        report = _report(whole, program, cut, _BED_LIES)
        yield CheckedCarving(
            digest, len(several), outcome, found.sentence, report, difference_png(worst.fields)
        )


def _astray(found: BedComparison) -> bool:
    return any(each.kind in {"outside-blank", "beside-carvings"} for each in found.dangers)


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
        cutters[reading.flat_tool] = Cutter.straight(_flat_bit(reading, cut))
    return cutters


def _flat_bit(reading: ProgramReading, cut: Cut | None) -> float:
    """Diameter of the straight bit that clears flat bottoms, mm."""
    judged_with = 0.0 if cut is None else cut.allowances.flat_bit
    return reading.flat_bit or judged_with or _USUAL_FLAT_BIT


def _nearest(program: Program, cuts: Sequence[Cut], machine: Machine, reading: ProgramReading) -> int:
    """The cut that the program overlaps most, as the job sheet lays it."""
    from artwork.program.fields import fields_of, in_slat, overlap

    def shared(cut: Cut) -> float:
        ends = in_slat(program.moves, cut.slat.outline, machine.frame)
        return overlap(fields_of(program.moves, ends, cut, _cutters(cut, reading), _COARSE))

    return max(range(len(cuts)), key=lambda at: shared(cuts[at]))


def _told(found: Comparison, program: Program, cut: Cut, machine: Machine, which: int) -> CheckedProgram:
    from artwork.program.picture import difference_png

    report = _report(found, program, cut, machine.frame.words)
    return CheckedProgram(which, found.outcome, found.sentence, report, difference_png(found.fields))


def _report(found: Comparison, program: Program, cut: Cut, lies: str) -> ProgramReport:
    """The figures; ``lies``: how the slat was taken to lie."""
    return ProgramReport(
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
        lies=lies,
    )
