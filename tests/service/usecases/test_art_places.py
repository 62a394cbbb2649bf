"""Where art goes by itself: head height, alike on mirrored slats, the workshop's mark on a rear face."""

from __future__ import annotations

from dataclasses import replace

import pytest
from shapely import affinity

from artwork.furniture import ModelLayout, PlacedSlat
from artwork.intake import read_artwork
from artwork.outline_file import pack
from artwork.workpiece import Allowances
from service.orders.content import LineContent
from service.orders.cuts import Circumstances
from service.orders.errors import InvalidError
from service.usecases import artworks, marking, ordering, shop
from service.usecases.commands import Upload
from service.usecases.computing import lay
from tests.service.usecases.world import BITS, CREST, World, bench, content, one, slat

HEAD, HIGH = 480.0, 40.0


def with_places(world: World) -> ModelLayout:
    """The bench with a pair of outer slats, head height on the wide one, and a support that shows its back."""
    left = slat("outer-left", 88.9, 600)
    low = replace(left, outline=left.outline.union(affinity.translate(left.outline, 0, 12.0)))
    right = replace(low, key="outer-right", name="outer right", outline=affinity.scale(low.outline, -1, 1))
    wide = bench().slats[0]
    layout = replace(
        bench(),
        slats=(
            replace(wide, art_y=HEAD, art_high=HIGH),
            PlacedSlat(low, -130, 0),
            PlacedSlat(right, 130, 0),
            PlacedSlat(slat("support", 60, 500), 0, 0, carries_art=False, carries_mark=True, face="rear"),
        ),
    )
    known = shop.get_model(world.ctx, world.maker, "longwalk-bench")
    shop.save_model(world.ctx, world.maker, layout, {}, known.revision)
    return layout


def test_art_lies_at_head_height_and_alike_on_mirrored_slats(real_world: World):
    world = real_world
    layout = with_places(world)
    whole = world.upload(world.place(("back-wide", "outer-left", "outer-right")))
    at = {carving.slat_key: carving.placement for carving in whole.carvings}
    wide = at["back-wide"]
    assert wide is not None and wide.y == pytest.approx(HEAD, abs=0.5)
    (mine,) = (c for c in whole.carvings if c.slat_key == "back-wide")
    (proof,) = (p for p in whole.proofs if p.carving_id == mine.id)
    assert proof.check["figures"]["height"] == pytest.approx(HIGH, abs=0.1)
    left, right = at["outer-left"], at["outer-right"]
    assert left is not None and right is not None
    assert right == replace(left, x=-left.x)
    assert layout.slat("outer-left").outline.bounds[3] == layout.slat("outer-right").outline.bounds[3]


@pytest.mark.parametrize(
    ("share", "kept"), [(0.2, False), (0.59, False), (0.61, True), (0.99, True), (1.5, False)]
)
def test_art_keeps_the_size_it_states_where_it_was_drawn_for_such_a_slat(share: float, kept: bool):
    """A logo off a letterhead is as large as fits: nobody wants it a thumb wide on a bench."""
    at = Circumstances(slat("back", 139.7, 430.0), BITS[0], Allowances())
    square = read_artwork(
        b'<svg xmlns="http://www.w3.org/2000/svg" width="50mm" height="50mm" viewBox="0 0 50 50">'
        b'<path d="M0 0H50V50H0Z"/></svg>',
        "square.svg",
    ).outline
    largest = lay(pack(replace(square, stated_mm=None)), at)
    laid = lay(pack(replace(square, stated_mm=share * largest.scale)), at)
    assert laid == (replace(largest, scale=share * largest.scale) if kept else largest)


def test_the_mark_goes_on_the_back_of_a_support_and_clients_put_nothing_there(world: World):
    with_places(world)
    lines = (LineContent("longwalk-bench", 1, ("support",)),)
    with pytest.raises(InvalidError, match="carries no art"):
        ordering.place_order(world.ctx, world.visitor, replace(content(), lines=lines))
    draft = ordering.place_order(world.ctx, world.maker, replace(content(), lines=lines)).whole
    upload = Upload(CREST, "crest.svg", "image/svg+xml", (draft.carvings[0].id,))
    artworks.upload_artwork(world.ctx, world.maker, draft.order.id, upload)
    world.work()
    mark = marking.propose_mark(world.ctx, world.maker, one(world.look(draft).proofs[0])).mark
    marking.approve_mark(world.ctx, world.maker, mark.id, mark.digest, mark.picture)
    released = world.released(("back-wide",))
    carried = marking.list_order_marks(world.ctx, world.maker, released.order.id)
    assert [each.shown.mark.slat_key for each in carried] == ["support"], (
        "and the client's art stays where it is"
    )


@pytest.mark.parametrize("wrong", [{"art_high": 0.0}, {"art_high": 9_000.0}, {"face": "rear"}])
def test_places_that_make_no_sense_are_refused(world: World, wrong):
    known = shop.get_model(world.ctx, world.maker, "longwalk-bench")
    first, *others = known.layout.slats
    layout = replace(known.layout, slats=(replace(first, **wrong), *others))
    with pytest.raises(InvalidError):
        shop.save_model(world.ctx, world.maker, layout, {}, known.revision)
