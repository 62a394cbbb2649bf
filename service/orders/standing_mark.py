"""The workshop's own mark: one carving that goes on every piece of a model, approved once per version.

A mark is no order's. It is approved by the maker alone, against the digest of its cut and the picture shown,
and holds until anything that decides the cut changes: then the same mark has another digest, and needs a new
version.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace
from datetime import datetime
from typing import Any

from artwork import tooling
from artwork.cut import Cut
from artwork.findings.wording import at_least, at_most
from service.orders.errors import Conflict, Invalid, Problem


@dataclass(frozen=True)
class StandingMark:
    """One version of a mark; never changed but for its approval and its end.

    Attributes:
        workshop_id, model_key, slat_key: where it goes.
        version: counted from 1 per slat of a model.
        digest: of its cut (``artwork.digest``), 64 hex digits.
        outline, picture: SHA-256 of the packed outline and of the picture that is shown.
        verdict: of its check.
        approved_at, approved_by: ``None`` and empty until the maker approves it.
        ended_at: since when it is not carved any more, or ``None``.
    """

    id: str
    workshop_id: str
    model_key: str
    slat_key: str
    version: int
    digest: str
    outline: str
    picture: str
    verdict: str
    approved_at: datetime | None = None
    approved_by: str = ""
    ended_at: datetime | None = None

    @property
    def facts(self) -> dict[str, Any]:
        """What the record of decisions holds of it."""
        return {
            "mark": self.id,
            "model": self.model_key,
            "slat": self.slat_key,
            "version": self.version,
            "digest": self.digest,
        }


def next_version(before: Iterable[StandingMark], proposed: StandingMark) -> StandingMark:
    """The proposed mark with its version number, unapproved whatever it says.

    Args:
        before: all versions so far, of any slat.
        proposed: the new one.
    """
    same = [mark.version for mark in before if _place(mark) == _place(proposed)]
    return replace(
        proposed, version=max(same, default=0) + 1, approved_at=None, approved_by="", ended_at=None
    )


def approve(mark: StandingMark, digest: str, picture: str, by: str, at: datetime) -> StandingMark:
    """The mark approved by the maker who saw that digest and picture.

    Raises:
        Conflict: ``not-current`` (something else was shown), ``not-feasible``, ``already-approved``,
            ``ended``.
    """
    if mark.ended_at is not None:
        raise Conflict("ended", "This mark is not carved any more. Make a new version of it.")
    if mark.approved_at is not None:
        raise Conflict("already-approved", "This version of the mark is approved already.")
    if (digest, picture) != (mark.digest, mark.picture):
        raise Conflict("not-current", "The mark has changed since it was shown. Look at it again.")
    if mark.verdict == "will-not-carve":
        raise Conflict("not-feasible", "This mark will not carve as it is. Change it, then approve.")
    return replace(mark, approved_at=at, approved_by=by)


def end(mark: StandingMark, at: datetime) -> StandingMark:
    """The mark no longer carved; a mark that has ended stays so."""
    return mark if mark.ended_at is not None else replace(mark, ended_at=at)


def marks_to_carve(
    marks: Iterable[StandingMark], workshop_id: str, model_key: str
) -> tuple[StandingMark, ...]:
    """The newest approved version per slat, by slat key; none where the newest that is approved has ended.

    A newer version that waits for approval does not take the place of the approved one.
    """
    newest: dict[str, StandingMark] = {}
    for mark in marks:
        if (mark.workshop_id, mark.model_key) != (workshop_id, model_key) or mark.approved_at is None:
            continue
        held = newest.get(mark.slat_key)
        if held is None or mark.version > held.version:
            newest[mark.slat_key] = mark
    return tuple(newest[key] for key in sorted(newest) if newest[key].ended_at is None)


def refuse_unless_current(mark: StandingMark, digest_today: str) -> None:
    """What stands before every export: the mark is approved, and today's cut of it is the approved one.

    Raises:
        Conflict: ``mark-not-approved``, ``mark-changed``.
    """
    if mark.approved_at is None or mark.ended_at is not None:
        raise Conflict(
            "mark-not-approved", f"Version {mark.version} of the mark is not approved for carving."
        )
    if digest_today != mark.digest:
        raise Conflict(
            "mark-changed",
            "The slat, the bit or the allowances have changed since the mark was approved. "
            "Look at it again and approve a new version.",
        )


def refuse_clash(mark: Cut, art: Cut) -> None:
    """The mark and a client's art on one slat need wood between them.

    Raises:
        Invalid: ``mark-too-close``, with the distance there is and the one there must be.
    """
    between = float(mark.placed().region().distance(art.placed().region()))
    needed = tooling.least_land(art.allowances, 1.0) + tooling.land_loss(art.bit, art.allowances)
    if between < needed:
        raise Invalid(
            Problem(
                "placement",
                "mark-too-close",
                f"Between the art and the workshop's mark on “{art.slat.name}” stand {at_least(between)} of "
                f"wood; it needs {at_most(needed)}. Move the art away from the mark.",
            )
        )


def _place(mark: StandingMark) -> tuple[str, str, str]:
    return mark.workshop_id, mark.model_key, mark.slat_key
