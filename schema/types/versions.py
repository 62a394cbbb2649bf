"""Versions of a drawing that carve, and remedies."""

from __future__ import annotations

import strawberry

from schema.types.judged import CureChange
from schema.types.made import shows
from service.orders import versions
from service.rest.responses.versions import VersionBody, VersionsBody
from service.rest.responses.work import CureBody


@shows(versions.Area)
class Area:
    """A rectangle around a place, in mm of the slat that the version lies on: x across, y up."""


@shows(versions.VersionChange)
class VersionChange:
    """One sort of change."""


@shows(versions.NoVersion)
class NoVersion:
    """Why no version keeps enough of the drawing, and what would do."""


@shows(versions.ChosenVersion)
class ChosenVersion:
    """What was chosen for a carving in place of what was sent, and how the art lay before."""


@shows(CureBody)
class Cure:
    """What would make it carve; it is taken by its code."""

    change: CureChange = strawberry.field(description="What would change, in figures.")


@shows(VersionBody)
class Version:
    """The drawing as it would be carved: it has passed the full check."""


@shows(VersionsBody)
class CarvingVersions:
    """What is proposed for a carving; versions and reason are there once the state is `ready`,
    a first version often while the others are `working`."""
