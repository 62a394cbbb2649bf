"""Test boards of a workshop: what was made, what was read off it, what was accepted of it."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from datetime import datetime
from typing import Annotated, Literal

from pydantic import Field

from artwork.testboard.features import Blank
from artwork.tooling import HOLDING
from artwork.workpiece import Allowances, Bit
from service.orders.errors import FieldError
from service.orders.texts import number_problems, text_problems

LONGEST_NOTE = 500
AcceptFor = Literal["workshop", "wood"]
"""Whose allowances change: the workshop's own, or those of the slats of the board's wood."""


@dataclass(frozen=True)
class TestBoardContent:
    """What a test board is made of and with.

    Attributes:
        bit_key: of the bit it is carved with.
        species: key of the wood.
        holding: how the board is held, one of :data:`artwork.tooling.HOLDING`.
        length, width, thickness: of the offcut, mm; the length along the grain.
    """

    __test__ = False  # a name that tests are not looked for in

    bit_key: Annotated[str, Field(max_length=64, description="of the bit it is carved with")]
    species: Annotated[str, Field(max_length=64, description="key of the wood")] = "western-redcedar"
    holding: Annotated[str, Field(max_length=64, description="how the board is held")] = "zeroed"
    length: Annotated[float, Field(ge=50, le=3000, description="along the grain, mm")] = 320.0
    width: Annotated[float, Field(ge=50, le=1000, description="mm")] = 139.7
    thickness: Annotated[float, Field(ge=5, le=100, description="mm")] = 25.4

    @property
    def blank(self) -> Blank:
        """The offcut."""
        return Blank(self.length, self.width, self.thickness, self.species)


@dataclass(frozen=True)
class ShopBoard:
    """One test board.

    Attributes:
        number: of the workshop's boards, from 1.
        content: what it is made of and with.
        bit, allowances: as they were when it was laid out; they decide its drawing.
        minutes: of carving, an estimate.
        readings: reading's key → mm, or 1 and 0 for a tap.
        confirmed: keys of readings that were measured again and are right.
        photograph: SHA-256 of the photograph, as JPEG; ``None`` for none.
        note: words of whoever measured it.
        revision: raised by every change.
        made_at: when.
        accepted_at: when its proposal was accepted; ``None`` before that.
        accepted_as: revision of the workshop's settings that holds it; 0 before that.
        accepted: what was changed: name → value before and after.
    """

    id: str
    workshop_id: str
    number: int
    content: TestBoardContent
    bit: Bit
    allowances: Allowances
    minutes: float
    readings: Mapping[str, float]
    confirmed: tuple[str, ...]
    photograph: str | None
    note: str
    revision: int
    made_at: datetime
    accepted_at: datetime | None = None
    accepted_as: int = 0
    accepted: Mapping[str, tuple[float, float]] | None = None


def content_problems(content: TestBoardContent) -> Iterator[FieldError]:
    """What is wrong with a board's content before it is laid out."""
    yield from number_problems(content)
    if content.holding not in HOLDING:
        yield FieldError("holding", "unknown", f"Choose one of: {', '.join(HOLDING)}.")


def note_problems(note: str) -> Iterator[FieldError]:
    """What is wrong with a note."""
    yield from text_problems("note", note, LONGEST_NOTE, lines=True)
