"""Test boards, as functions that run in killable processes: laid out, drawn, fitted; photographs made safe."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from artwork.errors import EngineError
from artwork.testboard.features import Blank
from artwork.workpiece import Allowances, Bit

LONGEST_SIDE = 1600
"""Of a kept photograph, pixels."""
MOST_PIXELS = 60_000_000


@dataclass(frozen=True)
class BoardReading:
    """One reading that can be taken of a board.

    Attributes:
        key: ``"L3.width"``.
        group: those that are taken together.
        unit: ``"mm"`` or ``"tap"``.
        question: a sentence.
        expected: what a board cut as planned shows, mm.
        drawn: width as it was drawn, mm.
        box: where it lies: least x, least y, greatest x, greatest y, mm.
    """

    key: str
    group: str
    unit: str
    question: str
    expected: float
    drawn: float
    box: tuple[float, float, float, float]


@dataclass(frozen=True)
class LaidOutBoard:
    """A board that can be cut: how long carving takes, what is done, what is read, and its art as SVG path data."""

    minutes: float
    steps: tuple[str, ...]
    readings: tuple[BoardReading, ...]
    art: str


@dataclass(frozen=True)
class FittedFigure:
    """One of the shop's figures.

    Attributes:
        key: its name.
        value: the likeliest, mm; degrees for an angle.
        low: lower end of its 95 % interval.
        high: upper end of its 95 % interval.
        readings: how many stand behind it.
    """

    key: str
    value: float
    low: float
    high: float
    readings: int


@dataclass(frozen=True)
class MissingFigure:
    """A figure that the readings do not give.

    Attributes:
        key: of the figure.
        words: why.
        helpful: keys of readings that would help most.
    """

    key: str
    words: str
    helpful: tuple[str, ...]


@dataclass(frozen=True)
class OddReading:
    """A reading that the others contradict.

    Attributes:
        key: of the reading.
        value: as it was typed.
        expected: what the others make likely.
        words: a sentence, with what may have been meant.
    """

    key: str
    value: float
    expected: float
    words: str


@dataclass(frozen=True)
class ProposedChange:
    """One allowance or figure of the bit.

    Attributes:
        name: of the allowance.
        today: as it is set, mm; degrees for an angle.
        proposed: what the board speaks for.
        figure: key of the figure that it comes of.
    """

    name: str
    today: float
    proposed: float
    figure: str


@dataclass(frozen=True)
class FittedBoard:
    """All that the readings of a board say.

    Attributes:
        figures: of the shop.
        missing: figures that the readings do not give.
        odd: readings that the others contradict.
        changes: allowances that it speaks for, beside today's.
        notes: what is better set right than allowed for.
    """

    figures: tuple[FittedFigure, ...]
    missing: tuple[MissingFigure, ...]
    odd: tuple[OddReading, ...]
    changes: tuple[ProposedChange, ...]
    notes: tuple[str, ...]


def lay_out(blank: Blank, bit: Bit, allowances: Allowances) -> LaidOutBoard:
    """A board for that offcut and bit. EngineError."""
    from artwork.drawings.svg import path_data
    from artwork.testboard.design import lay_out as laid
    from artwork.testboard.readings import slots
    from artwork.testboard.sheet import steps

    board = laid(blank, bit, allowances)
    readings = tuple(
        BoardReading(
            slot.key,
            slot.feature.key
            if slot.feature.kind in ("line", "step")
            else _group(slot.feature.group, slot.what),
            slot.unit,
            slot.question,
            round(slot.expected, 2),
            slot.feature.width,
            slot.feature.box,
        )
        for slot in slots(board.plan, allowances.sanding)
    )
    return LaidOutBoard(
        round(board.minutes, 1), steps(board), readings, path_data(board.cut.placed().contours)
    )


def _group(group: str, what: str) -> str:
    return (
        f"thickness {what}"
        if group == "place"
        else {"island": "islands", "taper": "tapers", "edge": "edge"}.get(group, group)
    )


def draw(blank: Blank, bit: Bit, allowances: Allowances, form: str, cautions: Sequence[str]) -> bytes:
    """The board as ``svg``, ``dxf`` or ``pdf`` at true size, or its ``sheet``. EngineError."""
    from artwork.drawings.dxf import dxf
    from artwork.drawings.pdf import pdf
    from artwork.drawings.svg import svg
    from artwork.testboard.design import lay_out as laid
    from artwork.testboard.sheet import sheet

    board = laid(blank, bit, allowances)
    match form:
        case "svg":
            return svg(board.cut)
        case "dxf":
            return dxf(board.cut)
        case "pdf":
            return pdf(board.cut)
        case _:
            return sheet(board, cautions)


def fit(
    blank: Blank,
    laid_out_with: tuple[Bit, Allowances],
    readings: Mapping[str, float],
    confirmed: Sequence[str],
    today: tuple[Bit, Allowances],
) -> FittedBoard:
    """The shop's figures, and what they speak for beside today's. EngineError."""
    from artwork.testboard.design import lay_out as laid
    from artwork.testboard.fitting import fit as fitted
    from artwork.testboard.proposing import propose
    from artwork.wood import land_factors

    found = fitted(laid(blank, *laid_out_with).plan, readings, confirmed)
    bit, allowances = today
    proposal = propose(found, allowances, bit, land_factors(blank.species))
    return FittedBoard(
        tuple(
            FittedFigure(f.key, round(f.value, 3), round(f.low, 3), round(f.high, 3), f.readings)
            for f in found.figures
        ),
        tuple(MissingFigure(m.key, m.words, m.helpful) for m in found.missing),
        tuple(OddReading(s.key, s.value, round(s.expected, 2), s.words) for s in found.suspects),
        tuple(ProposedChange(c.name, c.today, c.proposed, c.figure.key) for c in proposal.changes),
        proposal.notes,
    )


def photograph(data: bytes) -> bytes:
    """A photograph as JPEG, upright, no larger than need be, without what a camera writes into it. EngineError."""
    import io

    from PIL import Image, ImageOps, UnidentifiedImageError

    try:
        with Image.open(io.BytesIO(data), formats=("JPEG", "PNG", "WEBP")) as picture:
            if picture.width * picture.height > MOST_PIXELS:
                raise EngineError("photograph", "This photograph has too many pixels.", "Send a smaller one.")
            upright = ImageOps.exif_transpose(picture).convert("RGB")
    except (UnidentifiedImageError, OSError, ValueError, SyntaxError) as error:
        raise EngineError(
            "photograph", "This is no photograph that can be read.", "Send it as JPEG, PNG or WebP."
        ) from error
    upright.thumbnail((LONGEST_SIDE, LONGEST_SIDE))
    out = io.BytesIO()
    upright.save(out, "JPEG", quality=85)
    return out.getvalue()
