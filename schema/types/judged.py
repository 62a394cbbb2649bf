"""What the engine says of a cut and of a file: checks, facts, reports. Read off stored JSON as it is."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import MISSING, fields
from typing import Any

import strawberry

from artwork import cut, intake, tooling, workpiece
from artwork.change import Change
from artwork.findings import values as found
from artwork.intake import values as reading
from artwork.picture_frame import PictureFrame as Frame
from artwork.remark import FileWarning
from schema.types.made import graph_type, sentence, shows
from service.orders import artworks as art
from service.orders import proofs
from service.orders.definition import defined


def filled(kind: Any, stored: Mapping[str, Any]) -> Mapping[str, Any]:
    """A stored value with what an earlier version did not know yet, as it is without."""
    given: dict[str, Any] = {}
    for field in fields(kind):
        if field.default is not MISSING:
            given[field.name] = field.default
        elif field.default_factory is not MISSING:
            given[field.name] = field.default_factory()
    return {**given, **stored}


@strawberry.type
class Named:
    """A name, and what it stands for in words."""

    name: str = strawberry.field(description="The name, as decisions take it.")
    words: str = strawberry.field(description="What it says.")


@strawberry.type
class Counted:
    """So many of a sort."""

    name: str = strawberry.field(description="What is counted.")
    count: int = strawberry.field(description="How many.")


def named(words: Mapping[str, str]) -> list[Named]:
    """Names with their words, in their order."""
    return [Named(name=name, words=told) for name, told in words.items()]


def counts(found: Mapping[str, int]) -> list[Counted]:
    """Counts by name, in their order."""
    return [Counted(name=name, count=count) for name, count in found.items()]


@shows(cut.Placement)
class Placement:
    """Where art lies on a slat: centre in slat mm, mm per outline unit, degrees ccw."""


@shows(tooling.Cost)
class WidthCost:
    """What one allowance adds to the width that a line or land needs."""


@shows(found.Finding)
class Finding:
    """One thing found at one place, or at several of a kind; its place is in slat mm."""


@shows(found.Figures)
class Figures:
    """Figures of a check, rounded to the safe side."""


@shows(found.Check, without=("figures",))
class Check:
    """A judged cut: verdict, findings, figures."""

    @strawberry.field
    def figures(self: Any) -> Figures:
        """For the maker."""
        stored: Any = filled(found.Figures, self["figures"])
        shown: Figures = stored
        return shown


@shows(workpiece.KeepOut)
class KeepOut:
    """A place on the face where nothing, or nothing deep, may be carved."""


@shows(workpiece.Slat, without=("keep_outs",))
class CutSlat:
    """The slat that a cut is on, in its own frame: mm, x across, y up."""

    @strawberry.field
    def keep_outs(self: Any) -> list[KeepOut]:
        """Screw holes, joints."""
        found: list[Any] = [filled(workpiece.KeepOut, each) for each in self.get("keep_outs", ())]
        return found


@shows(workpiece.Bit)
class CutBit:
    """The V-bit that a cut is made with."""


@shows(workpiece.Allowances)
class Allowances:
    """What a shop allows for; all mm unless the name says otherwise."""


def _maybe(kind: Any) -> dict[str, Any]:
    return {name: graph_type(name, field.hint) | None for name, field in defined(kind).items()}


class _Overrides:
    """Some allowances over the workshop's; null: the workshop's holds."""

    __annotations__ = _maybe(workpiece.Allowances)


for _name, _field in defined(workpiece.Allowances).items():
    setattr(_Overrides, _name, strawberry.field(description=sentence(_field.description)))
AllowanceOverrides = strawberry.type(_Overrides, name="AllowanceOverrides")


@shows(proofs.Facts, without=("allowances", "file_remarks"))
class Facts:
    """All that decides a cut besides its outline, and what was remarked of its file."""

    @strawberry.field
    def allowances(self: Any) -> Allowances:
        """As they were then."""
        stored: Any = filled(workpiece.Allowances, self["allowances"])
        shown: Allowances = stored
        return shown

    @strawberry.field
    def file_remarks(self: Any) -> list[Named]:
        """What was remarked of its file, by the names in `remarks`."""
        return named(self.get("file_remarks", {}))


@shows(Change)
class CureChange:
    """What a cure changes, in figures."""


@shows(intake.Wishes, without=("largest_mm", "least_mark_mm"))
class Wishes:
    """How a file was asked to be read."""


@shows(FileWarning)
class FileRemark:
    """Something about a file that its sender should know."""


@shows(reading.Ink)
class Ink:
    """One colour of the artwork."""


@shows(art.ReadingChoice)
class ReadingChoice:
    """One of several ways in which a file may be read."""


@shows(art.ReadingReport, without=("counts",))
class ReadingReport:
    """What was found and done in reading a file."""

    @strawberry.field
    def counts(self: Any) -> list[Counted]:
        """What was found and done in cleaning: `specks-dropped`, `nodes` and others."""
        return counts(self["counts"])


@shows(Frame)
class PictureFrame:
    """Where a picture lies on the slat.

    A point of the slat is drawn at `((x - left) / mmPerPixel, (top - y) / mmPerPixel)` pixels from the picture's upper
    left corner, x to the right, y down.
    """


def maybe(kind: Any, stored: Iterable[Any] | Mapping[str, Any] | None) -> Any:
    """As :func:`filled`, null for nothing."""
    return None if stored is None else filled(kind, dict(stored))
