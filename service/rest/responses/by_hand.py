"""What is different from what was sent, place by place, as JSON."""

from __future__ import annotations

from service.orders.by_hand import DrawingChanges
from service.rest.responses.base import shown, shows
from service.rest.responses.orders import API


@shows(DrawingChanges)
class DrawingChangesBody:
    """What is different from what was sent, place by place, and what is at one of them."""

    picture_url: str


def changes_body(found: DrawingChanges) -> DrawingChangesBody:
    """From what was found; the picture shows the same place."""
    at = "" if found.here is None else f"?x={found.here.x:g}&y={found.here.y:g}"
    return shown(DrawingChangesBody, found, picture_url=f"{API}/carvings/{found.carving_id}/changes.webp{at}")
