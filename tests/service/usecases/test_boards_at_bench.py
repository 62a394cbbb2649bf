"""Test boards at the bench: made, read by two at once, fitted, accepted as a version of the allowances."""

from __future__ import annotations

import io

import numpy as np
import pytest
from PIL import Image

from artwork.testboard.simulated import any_shop, measured
from service.orders.errors import ConflictError, InvalidError, NotAllowedError, NotFoundError, StaleError
from service.orders.record import EntryKind
from service.orders.test_boards import TestBoardContent
from service.usecases import privacy_and_audit
from service.usecases import shop as workshop
from service.usecases import test_boards as at_bench
from tests.own_numbers.shops import board as usual_board

from .world import World


def made(world: World, **more):
    return at_bench.make_test_board(world.ctx, world.helper, TestBoardContent("v60", **more))


def read(world: World, board, seed: int = 4):
    """Everything of it, as a simulated shop would read it."""
    rng = np.random.default_rng(seed)
    readings = measured(usual_board().plan, any_shop(rng), rng)
    return at_bench.save_readings(world.ctx, world.helper, board.id, readings)


def test_a_board_is_made_and_drawn_and_said_how_long_it_takes(either_world: World):
    world = either_world
    board = made(world)
    assert (board.number, board.bit.key) == (1, "v60") and 8 < board.minutes < 16
    assert made(world).number == 2
    sheet = at_bench.get_test_board(world.ctx, world.maker, board.id)
    assert sheet.board == board and len(sheet.laid_out.readings) > 150
    assert any(f"{board.minutes:.0f} minutes" in step for step in sheet.laid_out.steps)
    for form, begins in (("svg", b"<svg"), ("dxf", b"  0"), ("pdf", b"%PDF"), ("sheet", b"%PDF")):
        assert at_bench.board_drawing(world.ctx, world.maker, board.id, form)[0].startswith(begins)
    with pytest.raises(NotFoundError):
        at_bench.board_drawing(world.ctx, world.maker, board.id, "exe")


@pytest.mark.parametrize(
    "content",
    [
        TestBoardContent("none-such"),
        TestBoardContent("v60", holding="by hope"),
        TestBoardContent("v60", length=100),
        TestBoardContent("v60", thickness=11),
    ],
)
def test_a_board_that_cannot_be_is_refused(world: World, content):
    with pytest.raises(InvalidError):
        at_bench.make_test_board(world.ctx, world.maker, content)


def test_two_read_one_board_at_once_and_nothing_is_lost(world: World):
    board = made(world)
    at_bench.save_readings(world.ctx, world.helper, board.id, {"L3.width": 0.7, "L4.width": 0.95})
    after = at_bench.save_readings(world.ctx, world.maker, board.id, {"L4.width": None, "A1-2.stands": 0.0})
    assert after.readings == {"L3.width": 0.7, "A1-2.stands": 0.0} and after.revision == 3
    for bad in ({"Z1.width": 1.0}, {"A1-2.stands": 0.5}, {"L3.width": 501.0}):
        with pytest.raises(InvalidError):
            at_bench.save_readings(world.ctx, world.maker, board.id, bad)
    with pytest.raises(NotAllowedError):
        at_bench.list_test_boards(world.ctx, world.visitor)
    with pytest.raises(InvalidError) as few:
        at_bench.fit_test_board(world.ctx, world.maker, board.id)
    assert "would help most" in few.value.problems[0].message


def test_a_photograph_is_kept_without_what_a_camera_writes(world: World):
    board = made(world)
    out = io.BytesIO()
    exif = Image.Exif()
    exif[0x010E] = "Odo's phone, at home"
    Image.new("RGB", (2400, 300), (200, 170, 120)).save(out, "JPEG", exif=exif)
    after = at_bench.keep_board_photograph(world.ctx, world.helper, board.id, out.getvalue())
    kept = world.ctx.blobs.get(at_bench.board_photograph(world.ctx, world.maker, after.id).digest)
    assert b"Odo" not in kept and max(Image.open(io.BytesIO(kept)).size) == 1600
    with pytest.raises(InvalidError):
        at_bench.keep_board_photograph(world.ctx, world.helper, board.id, b"no picture")


def test_what_is_accepted_is_a_version_of_the_allowances_with_its_evidence(either_world: World):
    world = either_world
    open_order, board = world.offered(), read(world, made(world))
    before = workshop.get_settings(world.ctx, world.maker).workshop
    fitted = at_bench.fit_test_board(world.ctx, world.maker, board.id)
    proposed = {each.name: each for each in fitted.changes}
    assert proposed["sanding"].today == before.allowances.sanding
    names = tuple(
        name for name in ("sanding", "land_across") if proposed[name].today != proposed[name].proposed
    )
    with pytest.raises(NotAllowedError):
        at_bench.accept_test_board(world.ctx, world.helper, board.id, board.revision, names)
    with pytest.raises(StaleError):
        at_bench.accept_test_board(world.ctx, world.maker, board.id, board.revision + 1, names)
    accepted = at_bench.accept_test_board(world.ctx, world.maker, board.id, board.revision, names)
    after = workshop.get_settings(world.ctx, world.maker).workshop
    assert accepted.accepted_as == after.revision == before.revision + 1
    assert accepted.accepted == {name: (proposed[name].today, proposed[name].proposed) for name in names}
    for name in names:
        assert getattr(after.allowances, name) == proposed[name].proposed
    assert after.allowances.unevenness == before.allowances.unevenness
    page = privacy_and_audit.list_record(world.ctx, world.maker)
    entry = next(each for each in page.items if each.kind is EntryKind.SETTING)
    assert entry.facts["test_board"] == board.id and entry.facts["wood"] == "western-redcedar"
    assert {each["key"] for each in entry.facts["figures"]} >= {"sanding", "angle_deg"}
    assert [c.state for c in world.look(open_order).carvings] == ["stale"]
    with pytest.raises(ConflictError):
        at_bench.accept_test_board(world.ctx, world.maker, board.id, accepted.revision, names)


def test_figures_of_a_wood_are_taken_for_its_slats_alone(world: World):
    board = read(world, made(world))
    before = workshop.get_settings(world.ctx, world.maker)
    accepted = at_bench.accept_test_board(
        world.ctx, world.maker, board.id, board.revision, ("sanding",), accept_for="wood"
    )
    after = workshop.get_settings(world.ctx, world.maker)
    assert after.workshop.allowances == before.workshop.allowances
    changed = [
        values.get("sanding")
        for model in after.models
        for placed in model.layout.slats
        if placed.slat.species == "western-redcedar"
        for values in [model.allowances.get(placed.slat.key, {})]
    ]
    assert changed and set(changed) == {accepted.accepted["sanding"][1]}


def test_a_proposal_is_weighed_on_what_was_refused_and_signed(world: World):
    world.released()
    board = read(world, made(world))
    effects = at_bench.weigh_test_board(world.ctx, world.maker, board.id)
    assert (effects.signed, effects.now_unsafe, effects.refused) == (1, 0, 0)
    assert "0 of the last 1 signed" in effects.sentence
    world.compute.trouble["judge"] = AssertionError("it is known already")
    assert at_bench.weigh_test_board(world.ctx, world.maker, board.id) == effects
