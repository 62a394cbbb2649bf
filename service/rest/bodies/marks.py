"""The workshop's own marks as JSON."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime

from service.orders.file_remarks import FACT
from service.usecases.marking import CarriedMark, ShownMark


@dataclass(frozen=True)
class MarkBody:
    """One version of a mark; `stale`: today's settings would give another cut, so it cannot be released.

    `file_remarks`: those of `remarks` that are about its file, in words.
    """

    id: str
    model_key: str
    slat_key: str
    slat_name: str
    version: int
    digest: str
    picture: str
    verdict: str
    sentence: str
    remarks: tuple[str, ...]
    file_remarks: Mapping[str, str]
    stale: bool
    proposed_at: datetime
    approved_at: datetime | None
    ended_at: datetime | None


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


def mark_body(shown: ShownMark) -> MarkBody:
    """As it is given."""
    mark = shown.mark
    return MarkBody(
        id=mark.id,
        model_key=mark.model_key,
        slat_key=mark.slat_key,
        slat_name=mark.made_of["slat"]["name"],
        version=mark.version,
        digest=mark.digest,
        picture=mark.picture,
        verdict=mark.verdict,
        sentence=mark.sentence,
        remarks=mark.remarks,
        file_remarks=mark.made_of.get(FACT, {}),
        stale=shown.stale,
        proposed_at=mark.proposed_at,
        approved_at=mark.approved_at,
        ended_at=mark.ended_at,
    )
