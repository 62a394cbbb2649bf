"""What an order is cut from: every part of every piece, each with the label it bears until it is assembled."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, replace

from artwork.furniture import ModelLayout
from service.boards.stock import Wanted


@dataclass(frozen=True)
class CutPart:
    """One part to be cut out of a board.

    Attributes:
        key: its name within the order: an item's key for a slat, else line, piece, part and ordinal.
        name: what people call it.
        line, piece: where it belongs.
        model_key: of that line.
        part_key: of the model's part list; a slat's key for a slat.
        length, width, thickness: the rectangle it is cut from, mm; length along the grain.
        wood: key of its wood; empty for any.
        digest: of the proof carved on it, empty for none.
        text: carved on it, of a list of texts.
        shift: by which its art lies beside where it was signed, slat mm: a knot was there.
    """

    key: str
    name: str
    line: int
    piece: int
    model_key: str
    part_key: str
    length: float
    width: float
    thickness: float
    wood: str = ""
    digest: str = ""
    text: str = ""
    shift: tuple[float, float] = (0.0, 0.0)

    @property
    def wanted(self) -> Wanted:
        """As boards are planned for it."""
        return Wanted(
            f"{self.model_key}/{self.part_key}",
            self.name,
            self.length,
            self.width,
            self.thickness,
            1,
            self.wood,
        )


@dataclass(frozen=True)
class CutLine:
    """So many pieces of one model.

    Attributes:
        position: of the line in its order, from 1.
        layout: of its model.
        pieces: how many.
        carved: slat, piece (``None``: all) → digest of the proof and text carved.
    """

    position: int
    layout: ModelLayout
    pieces: int
    carved: Mapping[tuple[str, int | None], tuple[str, str]]


def cut_parts(lines: Iterable[CutLine]) -> tuple[CutPart, ...]:
    """Every part of every piece, line by line, piece by piece."""
    return tuple(part for line in lines for part in _of_line(line))


def with_shifts(
    parts: Iterable[CutPart], shifts: Mapping[tuple[str, str], tuple[float, float]]
) -> tuple[CutPart, ...]:
    """The parts as they are cut now: ``shifts`` are of art, slat mm, by the part's key and its proof's digest."""
    return tuple(replace(part, shift=shifts.get((part.key, part.digest), part.shift)) for part in parts)


def _of_line(line: CutLine) -> Iterator[CutPart]:
    slats = {placed.slat.key for placed in line.layout.slats}
    parts = [(part, line.layout.wood_of(part)) for part in line.layout.all_parts]
    for piece in range(1, line.pieces + 1):
        for part, wood in parts:
            digest, text = line.carved.get((part.key, piece)) or line.carved.get((part.key, None), ("", ""))
            for ordinal in range(1, part.count + 1):
                item = part.key in slats and part.count == 1
                key = (
                    f"{line.position}-{piece}-1-{part.key}"
                    if item
                    else f"{line.position}-{piece}-{part.key}-{ordinal}"
                )
                yield CutPart(
                    key,
                    part.name,
                    line.position,
                    piece,
                    line.layout.key,
                    part.key,
                    part.length,
                    part.width,
                    part.thickness,
                    wood,
                    digest,
                    text,
                )
