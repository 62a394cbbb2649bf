"""Drawings changed by hand, worked out in killable processes: plain values in, plain values out."""

from __future__ import annotations

from dataclasses import asdict, dataclass, replace
from typing import TYPE_CHECKING, Any

import shapely

from artwork.cut import Cut, Placement
from artwork.outline_file import pack
from service.orders.by_hand import ByHand, ChangedPlace, DrawingChanges, PlaceHere, WholeHere, WidthHere
from service.orders.cuts import Circumstances
from service.orders.versions import Area, ChangeKind
from service.usecases.studied import outline_of

if TYPE_CHECKING:
    from shapely.geometry.base import BaseGeometry

    from artwork.repair.places import Place
    from artwork.repair.spots import Spot

TOLERANCE = 0.5
"""A place that is pointed at is in a changed one, if it is no farther from it than this, mm."""
MOST_PLACES = 200


@dataclass(frozen=True)
class Drawn:
    """A drawing as it is carved, and what was sent, packed; both in the same units."""

    outline: bytes
    sent: bytes
    at: Circumstances
    placement: Placement

    def cut(self) -> Cut:
        """As it is carved."""
        return Cut(outline_of(self.outline), self.at.slat, self.placement, self.at.bit, self.at.allowances)

    def drawn(self) -> Cut:
        """What was sent, laid as that lies."""
        from artwork.repair.places import laid_alike

        now = self.cut()
        return laid_alike(replace(now, outline=outline_of(self.sent)), now)


@dataclass(frozen=True)
class ChangedByHand:
    """What comes of a change.

    Attributes:
        outline: packed; in the units of the one before.
        facts: what was done, for the record.
    """

    outline: bytes
    placement: Placement
    sentence: str
    likeness: float
    facts: dict[str, Any]


def look(carving_id: str, of: Drawn, point: tuple[float, float] | None) -> DrawingChanges:
    """What is different, and what is at a place."""
    from artwork.repair.places import places_of
    from artwork.version_pictures import Window

    now, drawn = of.cut(), of.drawn()
    places = places_of(drawn, now)[:MOST_PLACES]
    window = Window.of(drawn, now, point)
    told = tuple(_told(number, place) for number, place in enumerate(places, 1))
    here = None if point is None else _here(now, places, point)
    return DrawingChanges(carving_id, told, here, Area(*window.box), *window.size)


def picture(of: Drawn, point: tuple[float, float] | None) -> bytes:
    """What is different, numbered, as WebP; with a place close around it."""
    from artwork.repair.places import places_of
    from artwork.version_pictures import Window, numbered_webp

    now, drawn = of.cut(), of.drawn()
    places = places_of(drawn, now)[:MOST_PLACES]
    numbers = [(number, *_point(place)) for number, place in enumerate(places, 1)]
    return numbered_webp(drawn, now, Window.of(drawn, now, point), numbers, point)


def change(of: Drawn, asked: ByHand) -> ChangedByHand:
    """One change made. EngineError."""
    from artwork.repair.places import laid_alike, likeness_of
    from artwork.repair.refining import Refinement, refined

    now, drawn = of.cut(), of.drawn()
    found = refined(now, drawn, Refinement(asked.kind.value, asked.x, asked.y, asked.by))
    alike = likeness_of(laid_alike(drawn, found.cut), found.cut)
    done = {"kind": found.change.kind, "amount": round(found.change.amount_mm, 3)}
    facts = {"asked": asdict(asked) | {"kind": asked.kind.value}, "done": done}
    return ChangedByHand(
        pack(found.cut.outline), found.cut.placement, found.sentence, round(alike.least, 4), facts
    )


def _told(number: int, place: Place) -> ChangedPlace:
    x, y = _point(place)
    kind, amount = ChangeKind(place.change.kind), round(place.change.amount_mm, 3)
    return ChangedPlace(number, kind, amount, _area(place.change.place), round(x, 3), round(y, 3))


def _point(place: Place) -> tuple[float, float]:
    """A point in its largest part."""
    parts = shapely.get_parts(place.change.place)
    point = max(parts, key=lambda part: float(part.area)).representative_point()
    return point.x, point.y


def _here(now: Cut, places: tuple[Place, ...], point: tuple[float, float]) -> PlaceHere:
    from artwork.repair.spots import Sight

    sight, at = Sight.of(now), shapely.Point(point)
    off = [float(place.around.distance(at)) for place in places]
    nearest = min(range(len(off)), key=off.__getitem__, default=None)
    changed = None if nearest is None or off[nearest] > TOLERANCE else nearest + 1
    return PlaceHere(
        *point,
        _width(sight.stroke_at(*point)),
        _width(sight.gap_at(*point)),
        _whole(sight.to_fill(*point)),
        _whole(sight.to_leave_out(*point)),
        changed,
    )


def _width(spot: Spot | None) -> WidthHere | None:
    if spot is None:
        return None
    return WidthHere(*(round(value, 3) for value in (spot.width, spot.needed, spot.x, spot.y)))


def _whole(found: tuple[str, BaseGeometry] | None) -> WholeHere | None:
    return None if found is None else WholeHere(ChangeKind(found[0]), _area(found[1]))


def _area(shape: BaseGeometry) -> Area:
    return Area(*(round(float(edge), 2) for edge in shapely.bounds(shape)))
