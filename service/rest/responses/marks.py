"""The workshop's own marks as JSON."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Annotated

from pydantic import Field

from service.orders.file_remarks import FACT
from service.orders.standing_mark import StandingMark
from service.rest.raw_json import stored_as
from service.rest.responses.base import shown, shows
from service.rest.responses.judged import CheckBody, FactsBody
from service.usecases.marking import CarriedMark, ShownMark


@shows(StandingMark, without=("workshop_id", "basis", "made_of", "outline", "check", "approval"))
class MarkBody:
    """One version of a mark; `stale`: today's settings would give another cut, so it cannot be released.

    `file_remarks`: those of `remarks` that are about its file, in words. `check` and `facts` are those of the proof
    that it was taken from.
    """

    check: stored_as(CheckBody)  # type: ignore[valid-type]
    facts: Annotated[
        stored_as(FactsBody),  # type: ignore[valid-type]
        Field(description="all that decides the cut, without the outline's geometry"),
    ]
    slat_name: str
    file_remarks: Mapping[str, str]
    stale: bool


@dataclass(frozen=True)
class MarksBody:
    """Every version, newest first within each slat."""

    items: tuple[MarkBody, ...]


@dataclass(frozen=True)
class OrderMarkBody:
    """The mark on all `pieces` of one `line` of an order, by the line's position."""

    line: int
    pieces: int
    mark: MarkBody


@dataclass(frozen=True)
class OrderMarksBody:
    """The marks of an order, line by line."""

    items: tuple[OrderMarkBody, ...]


def order_mark_body(carried: CarriedMark) -> OrderMarkBody:
    """As it is given."""
    return OrderMarkBody(carried.line, carried.pieces, mark_body(carried.shown))


def mark_body(shown_mark: ShownMark) -> MarkBody:
    """As it is given."""
    made_of = shown_mark.mark.made_of
    return shown(
        MarkBody,
        shown_mark.mark,
        check=shown_mark.mark.check,
        facts=made_of,
        slat_name=made_of["slat"]["name"],
        file_remarks=made_of.get(FACT, {}),
        stale=shown_mark.stale,
    )
