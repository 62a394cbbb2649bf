"""Changes of a drawing by hand."""

from __future__ import annotations

from schema.types.made import shows
from schema.types.versions import Area  # noqa: F401 - makes it known
from service.orders import by_hand
from service.rest.responses.by_hand import DrawingChangesBody


@shows(by_hand.ChangedPlace)
class ChangedPlace:
    """One place at which the drawing differs from what was sent; it can be put back by itself."""


@shows(by_hand.WidthHere)
class WidthHere:
    """A stroke or a gap, from junction to junction."""


@shows(by_hand.WholeHere)
class WholeHere:
    """What would be filled or left out as a whole."""


@shows(by_hand.PlaceHere)
class PlaceHere:
    """What is at a place, and can be changed there; null where there is no such thing near it."""


@shows(DrawingChangesBody)
class DrawingChanges:
    """What is different from what was sent, place by place, and what is at one of them."""
