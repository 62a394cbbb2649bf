"""What stored checks, facts and reports look like. They are kept as JSON and go out as they are kept."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Annotated, Any

from pydantic import Field

from artwork.change import Change
from artwork.cut import Placement
from artwork.findings.values import Check, Figures, Finding
from artwork.picture_frame import PictureFrame, frame_of
from artwork.tooling import Cost
from artwork.workpiece import KeepOut, Slat
from service.orders.artworks import ReadingReport
from service.orders.choices import FindingKind
from service.orders.finishes import Finish
from service.orders.proofs import Facts
from service.rest.responses.base import shows
from service.rest.responses.shapes import PolygonShape, Shape


@shows(Cost)
class WidthCostBody:
    """What one allowance adds to the width that a line or land needs."""


@shows(Finding)
class FindingBody:
    """One thing found at one place, or at several of a kind."""

    kind: FindingKind
    place: Shape


@shows(Figures)
class FiguresBody:
    """Figures of a check, rounded to the safe side; proofs of earlier versions lack some."""

    sensitivity: str = ""
    line_costs: tuple[WidthCostBody, ...] = ()
    land_costs: tuple[WidthCostBody, ...] = ()


@shows(Check)
class CheckBody:
    """A judged cut: verdict, findings, figures."""

    findings: tuple[FindingBody, ...]
    figures: FiguresBody


@shows(KeepOut)
class KeptFreeBody:
    """A place on the face where nothing, or nothing deep, may be carved."""

    shape: PolygonShape
    free_depth: float = 0.0


@shows(Slat)
class CutSlatBody:
    """The slat that a cut is on, in its own frame: mm, x across, y up."""

    outline: PolygonShape
    keep_outs: tuple[KeptFreeBody, ...] = ()
    finish: Annotated[Finish, Field(description="left out for bare wood")] = Finish.BARE


@shows(Facts)
class FactsBody:
    """All that decides a cut besides its outline, and what was remarked of its file."""

    slat: CutSlatBody
    file_remarks: Annotated[
        Mapping[str, str], Field(description="name of a remark → what it says of the file")
    ] = Field(default_factory=dict)


@shows(Change)
class ChangeBody:
    """What a cure changes, in figures."""


@shows(ReadingReport)
class ReportBody:
    """What was found and done in reading a file; readings of earlier versions lack some of it."""


@dataclass(frozen=True)
class NamesWantedBody:
    """How a run of texts is to be made."""

    slats: Annotated[tuple[str, ...], Field(description="key of the slat that carries them")]
    rule: Annotated[Mapping[str, Any], Field(description="the rule of fit, as in `RuleAsk`")]
    field: Annotated[
        Mapping[str, float] | None,
        Field(description="where they are set, as in `PlaceAsk`; null until the roomiest place is found"),
    ]
    turn_deg: Annotated[float, Field(description="direction of reading, degrees counter-clockwise")]


@dataclass(frozen=True)
class AcrossWantedBody:
    """How a picture over several slats is to be made."""

    slats: Annotated[tuple[str, ...], Field(description="keys of the slats it runs over")]
    reading: Annotated[str, Field(description="id of the reading that is laid")]
    placement: Annotated[
        Placement | None, Field(description="in the piece's frame; null for as large as fits")
    ]
    without_slivers: Annotated[bool, Field(description="what the slats' edges cut too thin is left out")]


@dataclass(frozen=True)
class SuiteMadeBody:
    """What was found while making it; nothing of a run of texts."""

    placement: Annotated[
        Placement | None, Field(description="where the picture lies, in the piece's frame")
    ] = None
    notes: Annotated[tuple[str, ...], Field(description="what gaps and edges do to it, in words")] = ()


def picture_frame(facts: Mapping[str, Any]) -> PictureFrame:
    """The frame of a proof's picture, from its facts."""
    return frame_of(facts["slat"]["outline"]["coordinates"][0])
