"""Facts and digest: everything that decides the cut, nothing else, the same on every machine."""

from __future__ import annotations

import hashlib
import json
import pickle
from dataclasses import fields, replace

import numpy as np
import pytest
import rfc8785
from shapely import box

from artwork.curves import Contour
from artwork.cut import Cut, Placement
from artwork.digest import canonical, digest, digest_of, facts
from artwork.outline import Outline
from artwork.outline_file import pack, unpack
from artwork.workpiece import OILED, Allowances, Bit, KeepOut, Slat
from tests.artwork.drawn import board, cut, ellipse, nothing_lost, rectangle, straight

PLAIN = cut(straight(rectangle(0, 0, 10, 4)), board(keep_outs=(KeepOut(box(-4, 16, 4, 24), "screw"),)))
KNOWN = "e5aa0931c9f52797632163883d7aee6aee4722a76fd0e5982480535ba0a1b643"


def test_a_known_cut_has_its_known_digest():
    """Computed once and kept: a changed digest means that old proofs no longer name their cuts."""
    assert facts(PLAIN)["outline"] == [[[-5000, -2000], [5000, -2000], [5000, 2000], [-5000, 2000]]]
    assert len(digest(PLAIN)) == 64
    assert digest(PLAIN) == KNOWN


@pytest.mark.parametrize("name", ["plain", "curved", "finished", "nothing"])
def test_what_is_kept_is_the_canonical_form_of_the_facts(name):
    """RFC 8785 by its own library, whatever is written more quickly here."""
    curved = cut(
        Outline((ellipse(11.3, 7.7, arcs=5), ellipse(3.1, 2.2, hole=True)), pixel=0.3),
        scale=1.37,
        rotation_deg=33.3,
        mirrored=True,
    )
    finished = replace(PLAIN, slat=replace(PLAIN.slat, key="käse ß", finish=OILED))
    nothing = replace(curved, allowances=nothing_lost())
    told = {"plain": PLAIN, "curved": curved, "finished": finished, "nothing": nothing}[name]
    assert canonical(told) == rfc8785.dumps(facts(told))
    assert canonical(told) == rfc8785.dumps(facts(told))  # and again, from what is remembered
    assert hashlib.sha256(canonical(told)).hexdigest() == digest(told) == digest_of(canonical(told))


def test_facts_are_json_and_survive_it():
    assert json.loads(json.dumps(facts(PLAIN))) == facts(PLAIN)


def test_the_same_cut_from_its_stored_form():
    curved = cut(Outline((ellipse(11.3, 7.7, arcs=5),), pixel=0.3), scale=1.37, rotation_deg=33.3)
    again = replace(curved, outline=unpack(pack(curved.outline)))
    assert digest(again) == digest(curved)
    assert digest(pickle.loads(pickle.dumps(curved))) == digest(curved)


@pytest.mark.parametrize("name", [each.name for each in fields(Allowances)])
def test_every_allowance_counts(name):
    value = getattr(PLAIN.allowances, name)
    other = replace(PLAIN.allowances, **{name: not value if isinstance(value, bool) else value + 0.125})
    assert digest(replace(PLAIN, allowances=other)) != digest(PLAIN)


@pytest.mark.parametrize("name", ["angle_deg", "tip_flat", "diameter", "height"])
def test_every_figure_of_the_bit_counts(name):
    other = replace(PLAIN.bit, **{name: getattr(PLAIN.bit, name) + 0.5})
    assert digest(replace(PLAIN, bit=other)) != digest(PLAIN)


@pytest.mark.parametrize("name", [each.name for each in fields(Placement)])
def test_every_figure_of_the_placement_counts(name):
    value = getattr(PLAIN.placement, name)
    other = replace(PLAIN.placement, **{name: not value if isinstance(value, bool) else value + 0.5})
    assert digest(replace(PLAIN, placement=other)) != digest(PLAIN)


@pytest.mark.parametrize(
    "change",
    [{"thickness": 20.0}, {"grain_deg": 0.0}, {"round_over": 5.0}, {"mill_radius": 3.0}, {"keep_outs": ()},
     {"outline": board(width=199.0).outline}, {"key": "other"}, {"species": "white-oak"}],
)  # fmt: skip
def test_all_of_the_slat_counts_that_decides_the_cut(change):
    assert digest(replace(PLAIN, slat=replace(PLAIN.slat, **change))) != digest(PLAIN)


def test_what_people_call_a_slat_does_not_count():
    assert digest(replace(PLAIN, slat=replace(PLAIN.slat, name="the best slat"))) == digest(PLAIN)


def test_units_of_the_drawing_do_not_count_but_its_size_on_the_wood_does():
    tenfold = Outline(tuple(each.moved(np.eye(2) * 10, np.zeros(2)) for each in PLAIN.outline.contours))
    moved = replace(PLAIN, outline=tenfold, placement=replace(PLAIN.placement, scale=0.1))
    assert facts(moved)["outline"] == facts(PLAIN)["outline"]
    shifted = Outline(tuple(each.moved(np.eye(2), np.array([3.0, 5.0])) for each in PLAIN.outline.contours))
    assert digest(replace(PLAIN, outline=shifted)) == digest(PLAIN)


def test_a_thousandth_of_a_millimetre_counts_and_a_nanometre_does_not():
    def nudged(by: float) -> Cut:
        knots = PLAIN.outline.contours[0].knots.copy()
        knots[1, 1] += by
        return replace(PLAIN, outline=Outline((Contour(knots, PLAIN.outline.contours[0].controls),)))

    assert digest(nudged(0.003)) != digest(PLAIN)
    assert digest(nudged(1e-6)) == digest(PLAIN)


def test_values_are_plain():
    assert isinstance(PLAIN.slat, Slat)
    assert isinstance(PLAIN.bit, Bit)
    with pytest.raises(AttributeError):
        PLAIN.slat.thickness = 3.0  # type: ignore[misc]
