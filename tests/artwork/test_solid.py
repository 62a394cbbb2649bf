"""The solid: opened with another library, and measured against closed forms."""

from __future__ import annotations

import io
import json
import struct

import numpy as np
import pytest
import trimesh
from shapely import MultiPoint, Polygon, box

from artwork.curves import Contour
from artwork.cut import Cut, Placement
from artwork.outline import Outline
from artwork.solid import glb
from artwork.workpiece import Allowances, Bit, Slat

SHARP = Bit("v60", 60.0, 0.0, 12.7, 11.0)
EVEN = Allowances(sanding=0.0, unevenness=0.0)


def square(side: float) -> Outline:
    knots = np.array([[0, 0], [side, 0], [side, side], [0, side]], float)
    return Outline((Contour(knots, np.full((4, 2, 2), np.nan)),))


def cut(art: Outline, *, round_over: float = 0.0, side: float = 100.0) -> Cut:
    slat = Slat("s", "slat", box(-side / 2, 0, side / 2, side), 20.0, round_over=round_over)
    return Cut(art, slat, Placement(0.0, side / 2, 1.0), SHARP, EVEN)


def opened(data: bytes) -> trimesh.Trimesh:
    scene = trimesh.load(io.BytesIO(data), file_type="glb")
    (mesh,) = scene.geometry.values()
    return mesh


def test_it_is_a_glb_that_another_library_opens():
    data = glb(cut(square(8.0)))
    magic, version, length = struct.unpack_from("<III", data)
    # glTF 2.0 §4.4: magic "glTF", version 2, total length.
    assert (magic, version, length) == (0x46546C67, 2, len(data))
    size, kind = struct.unpack_from("<II", data, 12)
    assert kind == 0x4E4F534A
    document = json.loads(data[20 : 20 + size])
    assert document["asset"]["version"] == "2.0"
    mesh = opened(data)
    low, high = mesh.bounds * 1000
    assert high[2] == pytest.approx(0, abs=0.05)
    assert low[2] == pytest.approx(-20, abs=0.05)
    assert high[0] - low[0] == pytest.approx(100, abs=1e-3)
    assert high[1] - low[1] == pytest.approx(100, abs=1e-3)


def test_a_square_pyramid_of_wood_is_missing():
    # A V-bit carves a square into a pyramid as deep as half the side over tan 30°, up to the depth limit.
    side = 12.0
    mesh = opened(glb(cut(square(side))))
    depth = side / 2 / np.tan(np.radians(30))
    near = mesh.vertices[(np.abs(mesh.vertices[:, 0]) < 0.03)] * 1000
    front = near[near[:, 2] > -19]
    limit = 20.0 / 3  # a third of the thickness
    assert -front[:, 2].min() == pytest.approx(min(depth, limit), abs=0.5)


def test_only_what_is_carved_or_at_the_edge_is_finely_meshed():
    plain = opened(glb(cut(square(0.5))))
    samples = (2 * 102) ** 2
    assert len(plain.faces) < samples / 5


def test_same_value_same_bytes():
    assert glb(cut(square(8.0))) == glb(cut(square(8.0)))


def test_the_rounded_edge_is_a_quarter_circle():
    radius = 9.525
    mesh = opened(glb(cut(square(0.5), round_over=radius)))
    points = mesh.vertices * 1000
    middle = points[(np.abs(points[:, 1] - 50) < 0.3) & (points[:, 2] > -radius + 0.5)]
    inside = 50 - np.abs(middle[:, 0])
    near = (inside > 0.3) & (inside < radius)
    expected = radius - np.sqrt(radius**2 - (radius - inside[near]) ** 2)
    assert np.abs(-middle[near, 2] - expected).max() < 0.25  # half a sample, where the circle is steep


def test_a_slat_that_is_no_rectangle_has_its_own_outline():
    slat = Slat("t", "taper", Polygon([(-20, 0), (20, 0), (40, 200), (-40, 200)]), 20.0, round_over=0.0)
    mesh = opened(glb(Cut(square(5.0), slat, Placement(0.0, 100.0, 1.0), SHARP, EVEN)))
    points = mesh.vertices[mesh.vertices[:, 2] > -0.001] * 1000
    low = points[points[:, 1] < 5]
    assert np.abs(low[:, 0]).max() < 22
    edge = slat.outline.buffer(1e-3)
    assert edge.covers(MultiPoint(mesh.vertices[:, :2] * 1000))
