"""The workshop's own mark: one carving that goes on every piece of a model, approved once per version.

A mark is no order's. It is approved by the maker alone, against the digest of its cut and the picture shown,
and holds until anything that decides the cut changes: then a new version is needed.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import datetime
from typing import Annotated, Any

from artwork.findings.values import Verdict
from service.orders.cuts import bases_of, circumstances_of
from service.orders.definition import OneOf
from service.orders.errors import ConflictError
from service.orders.workshop import Settings


@dataclass(frozen=True)
class StandingMark:
    """One version of a mark; never changed but for its approval and its end.

    Attributes:
        workshop_id, model_key, slat_key: where it goes.
        version: counted from 1 per slat of a model.
        digest, basis, made_of, outline, picture, verdict, sentence, check, remarks: as of the proof that it was
            taken from; ``made_of`` is :attr:`service.orders.proofs.Proof.facts`.
        approval: number of the record's entry that approves it; 0 until the maker does.
        ended_at: since when it is not carved any more, or ``None``.
    """

    id: str
    workshop_id: str
    model_key: str
    slat_key: str
    version: int
    digest: str
    basis: str
    made_of: Mapping[str, Any]
    outline: str
    picture: str
    verdict: Annotated[str, OneOf(Verdict)]
    sentence: str
    check: Mapping[str, Any]
    remarks: tuple[str, ...]
    proposed_at: datetime
    approved_at: datetime | None = None
    approval: int = 0
    ended_at: datetime | None = None

    @property
    def facts(self) -> dict[str, Any]:
        """What the record of decisions holds of it."""
        return {
            "mark": self.id,
            "model": self.model_key,
            "slat": self.slat_key,
            "version": self.version,
        }


def next_version(before: Iterable[StandingMark], model_key: str, slat_key: str) -> int:
    """The number of the next version on that slat; ``before`` are all versions so far, of any slat."""
    place = (model_key, slat_key)
    return 1 + max((mark.version for mark in before if (mark.model_key, mark.slat_key) == place), default=0)


def refuse_unless_approvable(mark: StandingMark, digest: str, picture: str, settings: Settings) -> None:
    """Whether the maker, who was shown that digest and picture, can approve this version.

    Raises:
        Conflict: ``ended``, ``already-approved``, ``not-current`` (something else was shown),
            ``will-not-carve``, ``mark-changed``.
    """
    if mark.ended_at is not None:
        raise ConflictError("ended", "This mark is not carved any more. Make a new version of it.")
    if mark.approved_at is not None:
        raise ConflictError("already-approved", "This version of the mark is approved already.")
    if (digest, picture) != (mark.digest, mark.picture):
        raise ConflictError("not-current", "This is not the mark that was shown. Look at it again.")
    if mark.verdict == "will-not-carve":
        raise ConflictError("will-not-carve", f"{mark.sentence} Nobody can approve what will not carve.")
    refuse_stale(mark, settings)


def marks_to_carve(marks: Iterable[StandingMark], model_key: str) -> tuple[StandingMark, ...]:
    """The newest approved version per slat, by slat key; none where the newest that is approved has ended.

    A newer version that waits for approval does not take the place of the approved one.
    """
    newest: dict[str, StandingMark] = {}
    for mark in marks:
        if mark.model_key != model_key or mark.approved_at is None:
            continue
        held = newest.get(mark.slat_key)
        if held is None or mark.version > held.version:
            newest[mark.slat_key] = mark
    return tuple(newest[key] for key in sorted(newest) if newest[key].ended_at is None)


def is_stale(mark: StandingMark, settings: Settings) -> bool:
    """Whether today's slat, bit or allowances would give another cut than the mark's."""
    try:
        today = circumstances_of(mark.model_key, mark.slat_key, mark.made_of["bit"]["key"], settings)
    except ConflictError:  # the slat or the bit is gone
        return True
    return mark.basis not in bases_of(today)


def refuse_stale(mark: StandingMark, settings: Settings) -> None:
    """Today's cut of the mark is the one that was judged.

    Raises:
        Conflict: ``mark-changed``.
    """
    if is_stale(mark, settings):
        raise ConflictError(
            "mark-changed",
            f"The slat, the bit or the allowances have changed since version {mark.version} of the workshop's "
            f"mark on “{mark.made_of['slat']['name']}” was judged. Propose and approve a new version, or end "
            "the mark, then go on.",
        )
