"""Versions of a drawing that carve: what is proposed for a carving, and what was chosen."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime
from enum import StrEnum
from typing import Annotated, Any

from pydantic import Field

from artwork.cut import Placement
from artwork.findings.values import Verdict
from service.orders.actors import Role


class VersionKind(StrEnum):
    """What sort of change makes it carve."""

    AS_PLACED = "as-placed"
    FINER_BIT = "finer-bit"
    STACKED = "stacked"
    TURNED = "turned"
    FINER_BIT_TURNED = "finer-bit-turned"
    MOVE = "move"
    RESIZE = "resize"
    THICKEN = "thicken"
    THIN = "thin"
    RESIZE_AND_THICKEN = "resize-and-thicken"
    RESIZE_AND_THIN = "resize-and-thin"
    TURN = "turn"
    OTHER_SLAT = "other-slat"
    OTHER_BIT = "other-bit"
    DROP_PARTS = "drop-parts"
    OUTLINE_ONLY = "outline-only"
    NO_FLOOR = "no-floor"
    CARVE_BACKGROUND = "carve-background"
    BY_HAND = "by-hand"
    AS_SENT = "as-sent"


class ChangeKind(StrEnum):
    """What was done to a drawing."""

    THICKENED = "thickened"
    THINNED = "thinned"
    MOVED = "moved"
    GAP_OPENED = "gap-opened"
    GAP_FILLED = "gap-filled"
    COUNTER_OPENED = "counter-opened"
    COUNTER_FILLED = "counter-filled"
    DOT_GROWN = "dot-grown"
    END_SHORTENED = "end-shortened"
    STROKE_CUT = "stroke-cut"
    HATCH_THINNED = "hatch-thinned"
    LEFT_OUT = "left-out"
    LETTERS_SPACED = "letters-spaced"
    STACKED = "stacked"
    TURNED = "turned"
    RESIZED = "resized"
    BIT = "bit"


class ChangeUnit(StrEnum):
    """What the amount of a change is counted in."""

    MM = "mm"
    DEGREES = "degrees"
    PERCENT = "percent"
    LINES = "lines"


class VersionsState(StrEnum):
    """How far the versions of a carving are."""

    NOT_NEEDED = "not-needed"
    NOT_ASKED = "not-asked"
    WORKING = "working"
    READY = "ready"
    FAILED = "failed"


@dataclass(frozen=True)
class Area:
    """A rectangle around a place, in mm of the slat that the version lies on: x across, y up."""

    left: float
    low: float
    right: float
    high: float


@dataclass(frozen=True)
class VersionChange:
    """One sort of change."""

    kind: ChangeKind
    amount: Annotated[
        float, Field(description="by how much at most, in its unit; of a bit its angle, of a size its share")
    ]
    unit: ChangeUnit
    count: Annotated[int, Field(description="how many strokes, gaps or parts")]
    areas: Annotated[
        tuple[Area, ...], Field(description="where, the largest first, at most 40; none for the whole")
    ]


@dataclass(frozen=True)
class Proposal:
    """Another cut for a carving: an outline as it would lie on a slat, with a bit.

    Attributes:
        outline: SHA-256 of the packed outline.
        changed: whether that is another outline than the one it was asked for.
    """

    code: Annotated[str, Field(description="it is chosen by this")]
    sentence: Annotated[str, Field(description="the changes in one line")]
    outline: str
    changed: bool
    placement: Placement
    slat_key: str
    bit_key: str


@dataclass(frozen=True)
class Version(Proposal):
    """The drawing as it would be carved: a proposal that has passed the full check.

    Attributes:
        picture: SHA-256 of a WebP of what will be left; ``difference``: of what is carved anew and what no more,
            ``None`` where the outline is the same.
    """

    kind: VersionKind
    changes: tuple[VersionChange, ...]
    likeness: Annotated[float, Field(description="how much of the drawing is kept, 0 to 1")]
    farthest_mm: Annotated[float, Field(description="how far an edge moved at most")]
    cost: Annotated[float, Field(description="how much people see of the change; they are ranked by it")]
    width: Annotated[float, Field(description="mm")]
    height: Annotated[float, Field(description="mm")]
    verdict: Verdict
    picture: str
    difference: str | None
    sturdier_of: Annotated[
        str | None,
        Field(description="code of the version that this one is a sturdier one of; null of others"),
    ] = None


@dataclass(frozen=True)
class NoVersion:
    """Why no version keeps enough of the drawing, and what would do."""

    sentence: str
    helps: Annotated[tuple[str, ...], Field(description="what would make it carve, the easiest first")]
    area: Annotated[Area | None, Field(description="where it cannot be both, in mm of the carving's slat")]


@dataclass(frozen=True)
class KeptCure(Proposal):
    """One remedy, as it is kept.

    Attributes:
        change: what would change, plain JSON values.
    """

    change: Mapping[str, Any]

    @property
    def kind(self) -> VersionKind:
        """What sort of remedy it is."""
        return VersionKind(self.code.rsplit("-", 1)[0])

    @property
    def likeness(self) -> float | None:
        """How much of the drawing is kept; ``None`` where that was not measured."""
        return None if self.changed else 1.0

    @property
    def changes(self) -> tuple[VersionChange, ...]:
        """None that is told by places."""
        return ()


@dataclass(frozen=True)
class VersionSet:
    """What was worked out for one cut: kept once, whichever carving asks.

    Attributes:
        key: names the cut, the other slats and the bits that it was worked out for.
        outline: SHA-256 of the packed outline it was worked out for.
        sent: SHA-256 of a WebP of the art as it was drawn.
        versions: at most three, the least visible change first.
        cures: every remedy, best first.
        reason: where there is no version.
        whole: whether the work has come to its end; before that there may be a first version.
        sturdier: of some versions another one with more to spare, in their order.
    """

    key: str
    workshop_id: str
    outline: str
    sent: str
    versions: tuple[Version, ...]
    cures: tuple[KeptCure, ...]
    reason: NoVersion | None
    made_at: datetime
    whole: bool = True
    sturdier: tuple[Version, ...] = ()

    def version(self, code: str) -> Version | None:
        """What is chosen by a code, as little as it takes or sturdier."""
        return next((each for each in (*self.versions, *self.sturdier) if each.code == code), None)

    def files(self) -> frozenset[str]:
        """Every file that it names, by digest."""
        found = {self.outline, self.sent, *(cure.outline for cure in self.cures)}
        for version in (*self.versions, *self.sturdier):
            found |= {version.outline, version.picture, version.difference or version.picture}
        return frozenset(found)


@dataclass(frozen=True)
class ChosenVersion:
    """What was chosen for a carving in place of what was sent.

    Attributes:
        sent_placement, sent_slat_key, sent_bit_key: how the art lay before anything was chosen.
    """

    kind: VersionKind
    sentence: Annotated[str, Field(description="the changes in one line")]
    likeness: Annotated[
        float | None,
        Field(description="how much of the drawing is kept, 0 to 1; null where it is another drawing"),
    ]
    chosen_by: Annotated[Role, Field(description="who chose it")]
    sent_placement: Placement
    sent_slat_key: str
    sent_bit_key: str | None
    by_hand: Annotated[
        tuple[str, ...], Field(description="what the workshop changed by hand afterwards, one sentence each")
    ] = ()
