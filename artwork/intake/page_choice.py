"""A page with text and a logo, or with several logos: which of them is read, and what is offered beside it."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

from artwork.errors import EngineError
from artwork.intake.page_parts import PageParts
from artwork.intake.thumbnails import smaller
from artwork.intake.values import Choice, Reading, Wishes
from artwork.remark import FileWarning


def untouched(wishes: Wishes) -> bool:
    """Whether nobody said yet what of the page is read, or how."""
    return wishes == replace(
        Wishes(),
        page=wishes.page,
        piece=wishes.piece,
        largest_mm=wishes.largest_mm,
        least_mark_mm=wishes.least_mark_mm,
    )


def read_by_parts(parts: PageParts | None, wishes: Wishes, read: Callable[[Wishes], Reading]) -> Reading:
    """The logo of a letter, the whole page beside it; the whole of a page with several logos, each of them beside it.

    Args:
        parts: what the page holds; ``None``: it is read whole.
        wishes: those of the file, which name no part of it.
        read: reads the page with other wishes.
    """
    if parts is None:
        return read(wishes)
    readings = {asked: each for asked in _asked(parts, wishes) if (each := _tried(read, asked)) is not None}
    whole = wishes
    taken = next((asked for asked in readings if parts.letter and asked.crop is not None), whole)
    if taken not in readings or len(readings) < 2:
        return read(wishes)
    choices = _choices(readings, taken)
    if len(choices) < 2:  # what could be read besides the logo is nothing
        return readings[taken]
    told = (
        "The page holds text and a logo; the logo was read. The whole page is there to choose."
        if parts.letter
        else "The page holds several drawings, far from each other; each is there to choose."
    )
    reading = readings[taken]
    return replace(
        reading, choices=choices, remarks=(FileWarning("parts-of-a-page", told, "tells"), *reading.remarks)
    )


def _choices(readings: dict[Wishes, Reading], taken: Wishes) -> tuple[Choice, ...]:
    """The reading that was taken, then the others; those that look alike once."""
    shown: dict[bytes, Wishes] = {}
    for asked in (taken, *readings):
        shown.setdefault(smaller(readings[asked].picture), asked)
    parts = [asked for asked in readings if asked.crop is not None]
    return tuple(
        Choice(
            asked,
            "The whole page" if asked.crop is None else f"Part {parts.index(asked) + 1} of the page",
            picture,
            taken=asked == taken,
        )
        for picture, asked in shown.items()
    )


def _asked(parts: PageParts, wishes: Wishes) -> list[Wishes]:
    return [*(replace(wishes, crop=crop) for crop in parts.logos), wishes]


def _tried(read: Callable[[Wishes], Reading], asked: Wishes) -> Reading | None:
    """What is shown to choose from must be there to be read."""
    try:
        return read(asked)
    except EngineError:
        return None
