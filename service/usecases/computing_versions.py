"""Versions that carve, worked out and drawn in killable processes: plain values in, plain values out."""

from __future__ import annotations

import time
from collections.abc import Collection, Mapping, Sequence
from dataclasses import asdict, dataclass, replace
from typing import TYPE_CHECKING, Any

import shapely

from artwork.cut import Cut, Placement
from artwork.findings.values import Verdict
from artwork.outline_file import pack
from artwork.workpiece import Bit, Slat
from service.orders.cuts import Circumstances
from service.orders.versions import Area, ChangeKind, ChangeUnit, NoVersion, VersionChange, VersionKind
from service.usecases.computing import numbered, plain_values
from service.usecases.studied import anatomy_of, outline_of

if TYPE_CHECKING:
    from shapely.geometry.base import BaseGeometry

    from artwork.repair import Way
    from artwork.versions import Version

MOST_AREAS = 40
SHARE = 0.2
"""Of the time for all sturdier versions, how much one try may take."""
_TURNED: frozenset[Way] = frozenset({"turned"})
_UNITS = {
    "turned": ChangeUnit.DEGREES,
    "bit": ChangeUnit.DEGREES,
    "resized": ChangeUnit.PERCENT,
    "stacked": ChangeUnit.LINES,
}


@dataclass(frozen=True)
class FoundVersion:
    """One version.

    Attributes:
        outline: packed, of the cut it proposes.
        before: packed outline and placement of what was drawn, laid like it; ``None`` where nothing of the outline
            is changed.
        sturdier_of: code of the version that it is a sturdier one of.
    """

    code: str
    kind: VersionKind
    sentence: str
    changes: tuple[VersionChange, ...]
    likeness: float
    farthest_mm: float
    cost: float
    slat_key: str
    bit_key: str
    placement: Placement
    width: float
    height: float
    verdict: Verdict
    outline: bytes
    before: tuple[bytes, Placement] | None
    sturdier_of: str | None = None


@dataclass(frozen=True)
class FoundCure:
    """One remedy.

    Attributes:
        outline: packed, of the cut it proposes.
        changed: whether that is another outline than the one asked about.
        version: the same as a version; ``None`` where it keeps too little of the drawing to be shown as one.
    """

    code: str
    sentence: str
    outline: bytes
    changed: bool
    placement: Placement
    slat_key: str
    bit_key: str
    change: Mapping[str, Any]
    version: FoundVersion | None = None


@dataclass(frozen=True)
class FoundCures:
    """What would make a cut carve, best first; and which proposals could not be worked out, with why."""

    cures: tuple[FoundCure, ...]
    failed: tuple[tuple[str, str], ...]


@dataclass(frozen=True)
class FoundRepairs:
    """Repaired drawings, the least visible change first.

    Attributes:
        reason: why there is none.
        enough: whether looking for others is of no use.
        seconds: of a processor, that looking has taken.
    """

    versions: tuple[FoundVersion, ...]
    reason: NoVersion | None
    enough: bool = False
    seconds: float = 0.0

    def with_more(self, more: FoundRepairs) -> FoundRepairs:
        """Together with what was found afterwards."""
        versions = tuple(sorted((*self.versions, *more.versions), key=lambda version: version.cost))
        reason = None if versions else more.reason
        return FoundRepairs(versions, reason, self.enough or more.enough, self.seconds + more.seconds)


def find_cures(
    outline: bytes, at: Circumstances, placement: Placement, slats: Sequence[Slat], bits: Sequence[Bit]
) -> FoundCures:
    """What would make a cut carve, best first; each has passed the full check."""
    from artwork.remedies import remedies
    from artwork.versions import of_remedy

    drawn, anatomy = outline_of(outline), anatomy_of(outline)
    cut = Cut(drawn, at.slat, placement, at.bit, at.allowances)
    failed: list[tuple[str, str]] = []

    def note(proposal: str, error: Exception) -> None:
        failed.append((proposal, f"{type(error).__name__}: {error}"))

    found = remedies(cut, anatomy, slats, bits, note)
    cures = []
    for remedy, code in zip(found, numbered(remedy.code for remedy in found), strict=True):
        same = remedy.cut.outline is drawn
        packed = outline if same else pack(remedy.cut.outline)
        version = of_remedy(cut, remedy)
        cures.append(
            FoundCure(
                code=code,
                sentence=remedy.sentence,
                outline=packed,
                changed=not same,
                placement=remedy.cut.placement,
                slat_key=remedy.cut.slat.key,
                bit_key=remedy.cut.bit.key,
                change=plain_values(asdict(remedy.change)),
                version=None if version is None else _found(version, code, packed),
            )
        )
    return FoundCures(tuple(cures), tuple(failed))


def find_turned_repair(laid: Laid, seconds: float) -> FoundRepairs:
    """The repaired drawing turned by a quarter. Arguments as for :func:`find_first_repair`."""
    return _repaired(laid, (), seconds, ways=_TURNED)


def find_first_repair(laid: Laid, seconds: float) -> FoundRepairs:
    """The repaired drawing that lies as a cut that will not carve lies, with its bit.

    Args:
        laid: the cut.
        seconds: of a processor, that all versions together may take.
    """
    from artwork.repair import AS_PLACED

    return _repaired(laid, (), seconds, ways=AS_PLACED)


def find_other_repairs(
    laid: Laid, bits: Sequence[Bit], turned: FoundRepairs | None, seconds: float
) -> FoundRepairs:
    """Repaired drawings that lie otherwise than a cut that will not carve, or are cut with another bit.

    Args:
        laid: the cut.
        bits: other bits that the workshop has.
        turned: what was found of the drawing turned by a quarter, where that was tried before.
        seconds: of a processor, that all versions together may take.
    """
    from artwork.repair import OTHERWISE

    if turned is None:
        return _repaired(laid, bits, seconds, ways=OTHERWISE)
    return _repaired(laid, bits, seconds, ways=OTHERWISE - _TURNED, spent=turned.seconds)


def _repaired(
    laid: Laid, bits: Sequence[Bit], seconds: float, *, ways: Collection[Way], spent: float = 0.0
) -> FoundRepairs:
    from artwork.repair import Budget, repairs
    from artwork.versions import of_repair

    cut, anatomy = laid.cut(), anatomy_of(laid.outline)
    start = time.thread_time()
    answer = repairs(cut, anatomy, bits, Budget(seconds, spent), ways)
    found = tuple(_found(of_repair(each), each.way, pack(each.cut.outline)) for each in answer.repairs)
    why = answer.reason
    reason = None if why is None else NoVersion(why.sentence, why.helps, _area(why.place))
    return FoundRepairs(found, reason, answer.enough, time.thread_time() - start)


def find_sturdier(
    versions: Sequence[tuple[FoundVersion, Laid, Laid]], seconds: float
) -> tuple[list[FoundVersion], list[str]]:
    """Of each version one with more to spare, where it is still the drawing; and why where one failed.

    Args:
        versions: each with how it lies, and what was drawn, laid like it.
        seconds: of a processor, that all of them together may take.
    """
    from artwork.repair import Budget
    from artwork.versions import sturdier_of

    found, failed, start = [], [], time.thread_time()
    for version, laid, before in versions:
        left = seconds - (time.thread_time() - start)
        if left <= 0:
            break
        try:
            budget = Budget(min(left, SHARE * seconds))
            stronger = sturdier_of(laid.cut(), before.cut(), budget)
        except MemoryError:
            raise
        except Exception as error:  # noqa: BLE001 - the versions themselves are known, and are not lost for it
            failed.append(f"{type(error).__name__}: {error}")
            continue
        if stronger is not None:
            found.append(_sturdier(version, _found(stronger, version.code, pack(stronger.cut.outline))))
    return found, failed


def _sturdier(version: FoundVersion, found: FoundVersion) -> FoundVersion:
    """What was made of a version, told with what had been done for that: from what was drawn."""
    of_the_whole = tuple(change for change in version.changes if not change.areas)
    return replace(
        found,
        code=f"{version.code}-sturdier",
        kind=version.kind,
        sentence=f"{version.sentence} {found.sentence}",
        changes=(*of_the_whole, *found.changes),
        farthest_mm=round(version.farthest_mm + found.farthest_mm, 3),
        cost=round(version.cost + found.cost, 4),
        sturdier_of=version.code,
    )


def _found(version: Version, code: str, packed: bytes) -> FoundVersion:
    cut, before, figures = version.cut, version.before, version.check.figures
    drawn = None if before is None else (pack(before.outline), before.placement)
    return FoundVersion(
        code=code,
        kind=VersionKind(version.kind),
        sentence=version.sentence,
        changes=tuple(_change(each.kind, each.amount_mm, each.count, each.place) for each in version.changes),
        likeness=round(version.likeness.least, 4),
        farthest_mm=round(version.farthest_mm, 3),
        cost=round(version.cost, 4),
        slat_key=cut.slat.key,
        bit_key=cut.bit.key,
        placement=cut.placement,
        width=figures.width,
        height=figures.height,
        verdict=version.check.verdict,
        outline=packed,
        before=None if drawn is None or drawn[0] == packed else drawn,
    )


def _change(kind: str, amount: float, count: int, place: BaseGeometry) -> VersionChange:
    parts = sorted(getattr(place, "geoms", [place]), key=lambda part: -part.area)
    areas = tuple(area for part in parts[:MOST_AREAS] if (area := _area(part)) is not None)
    return VersionChange(ChangeKind(kind), round(amount, 3), _UNITS.get(kind, ChangeUnit.MM), count, areas)


def _area(place: BaseGeometry) -> Area | None:
    if place.is_empty:
        return None
    return Area(*(round(float(edge), 2) for edge in shapely.bounds(place)))


@dataclass(frozen=True)
class Laid:
    """A packed outline as it lies on a slat."""

    outline: bytes
    at: Circumstances
    placement: Placement

    def cut(self) -> Cut:
        """As the engine has it."""
        return Cut(outline_of(self.outline), self.at.slat, self.placement, self.at.bit, self.at.allowances)


def draw_versions(sent: Laid, versions: Sequence[tuple[Laid, Laid | None]]) -> list[tuple[bytes, bytes]]:
    """Pictures as WebP: what was sent, alone; then each version, with what is different from what was drawn.

    Args:
        sent: the cut that will not carve.
        versions: each with what was drawn, laid like it, where its outline was changed.
    """
    from artwork.version_pictures import carved_webp, changed_webp, drawn_webp

    drawn = [(drawn_webp(sent.cut()), b"")]
    for laid, before in versions:
        cut = laid.cut()
        drawn.append((carved_webp(cut), b"" if before is None else changed_webp(before.cut(), cut)))
    return drawn
