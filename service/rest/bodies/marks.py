"""The workshop's own marks as JSON."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from service.usecases.marking import ShownMark


@dataclass(frozen=True)
class MarkBody:
    """One version of a mark; `stale`: today's settings would give another cut, so it cannot be released."""

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
    stale: bool
    proposed_at: datetime
    approved_at: datetime | None
    ended_at: datetime | None


@dataclass(frozen=True)
class MarksBody:
    """Every version, newest first within each slat."""

    items: tuple[MarkBody, ...]


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
        stale=shown.stale,
        proposed_at=mark.proposed_at,
        approved_at=mark.approved_at,
        ended_at=mark.ended_at,
    )
