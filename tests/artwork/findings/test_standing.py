"""What wood needs place by place: the edge around a place is found whole, however little of it is looked at."""

from __future__ import annotations

import numpy as np
import pytest

from artwork.axis import study
from artwork.findings.standing import BESIDE, NEAREST, Body
from artwork.intake import read_artwork
from artwork.lettering.field import Field
from artwork.lettering.fitting import FitRule, fit
from artwork.outline import Outline
from artwork.placing import largest_fit
from artwork.scene import Scene
from seeds.shop import load
from tests.artwork.drawn import cut, ellipse, rectangle, straight

SHOP = load()
WIDE = SHOP.model("fernhollow-chair").slat("back-centre")


def named(text: str) -> Outline:
    return fit(text, FitRule("lato-regular", 20.0, 10.0), Field(0.0, 60.0, 400.0, 70.0)).outline


DRAWN = {
    "a name": named("Imke Löwe"),
    "a crest": read_artwork(SHOP.artwork("crest.svg").data, "crest.svg").outline,
    "a frame with a dot": straight(
        rectangle(0, 0, 60, 40), rectangle(2, 2, 56, 36, hole=True), rectangle(29, 19, 1, 1)
    ),
    "rings": Outline((ellipse(20, 12, arcs=8), ellipse(18, 10, hole=True, arcs=8), ellipse(0.2, 0.2))),
}


def edge_of(scene: Scene) -> np.ndarray:
    """Points along the whole edge, slat mm, at most ``BESIDE`` apart."""
    found = []
    for number in np.unique(scene.anatomy.ring):
        ring = scene.place(scene.anatomy.points[scene.anatomy.ring == number])
        for start, end in zip(ring, np.roll(ring, -1, axis=0), strict=True):
            steps = max(int(np.ceil(np.hypot(*(end - start)) / BESIDE)), 1)
            found.append(start + np.arange(steps)[:, None] / steps * (end - start))
    return np.concatenate(found)


@pytest.mark.parametrize("name", DRAWN)
def test_the_points_looked_at_are_the_nearest_of_all(name):
    """Against all points of the edge, in the body's frame, for every fifth place of the lands' axis."""
    outline = DRAWN[name]
    placement = largest_fit(outline, WIDE, SHOP.allowances)
    placed = cut(outline, WIDE, placement.scale, placement.x, placement.y, 30.0, allowances=SHOP.allowances)
    scene = Scene(placed, study(outline))
    body, axis = Body(scene), scene.anatomy.lands
    places = scene.place(axis.places[::5, 0])
    found = body.nearest(places, axis.clearance[::5, 0] * scene.scale)
    every = edge_of(scene)
    along, across = body.along, body.across
    grain = np.radians(WIDE.grain_deg)
    turn = np.array([[np.cos(grain), np.sin(grain)], [-np.sin(grain), np.cos(grain)]])
    frame = np.diag([2 / across, 2 / along]) @ turn
    for place, near in zip(places, found, strict=True):
        far = np.sort(np.hypot(*((every - place) @ frame.T).T))[:NEAREST]
        assert np.sort(np.hypot(*((near - place) @ frame.T).T)) == pytest.approx(far, abs=1e-9)
