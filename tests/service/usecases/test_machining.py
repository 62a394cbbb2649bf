"""The machine as a setting, what a release freezes, and the plan of boards and days."""

from __future__ import annotations

import io
import zipfile
from dataclasses import asdict, replace
from datetime import date

import ezdxf
import pytest

from artwork.furniture import Part
from service.orders.errors import ConflictError, InvalidError, NotAllowedError, NotFoundError, StaleError
from service.orders.machine import Machine, machine_from
from service.usecases import approving, machining, ordering, planning, producing, shop
from service.usecases.answers import OrderAggregate
from tests.service.usecases.world import RING, World, content, shown

LYING = Machine(quarter_turns=1, mirrored=True, zero="lower-left", splines=True, paper="Letter")


def archive(world: World, whole: OrderAggregate) -> zipfile.ZipFile:
    batch = producing.take_batch(world.ctx, world.maker, (whole.order.id,))
    world.work()
    batch = producing.get_batch(world.ctx, world.maker, batch.id)
    return zipfile.ZipFile(io.BytesIO(world.blobs.get(batch.archive or batch.message)))


def test_a_batch_is_drawn_for_the_machine_and_its_sheet_says_so(real_world: World):
    world = real_world
    machining.save_machine(world.ctx, world.maker, LYING, 0)
    whole = world.sign(world.offered(data=RING % b"30"))
    whole = approving.find_feasible(world.ctx, world.maker, whole.order.id, shown(whole))
    producing.release(world.ctx, world.maker, whole.order.id, whole.order.revision, shown(whole))
    with archive(world, whole) as opened:
        (name,) = [each for each in opened.namelist() if each.endswith("art.dxf")]
        drawing = ezdxf.read(io.StringIO(opened.read(name).decode()))
        sheet = next(opened.read(each) for each in opened.namelist() if each.endswith("job-sheet.pdf"))
    art = drawing.modelspace().query('*[layer=="ART"]')
    assert {entity.dxftype() for entity in art} == {"SPLINE"}
    (outline,) = drawing.modelspace().query('LWPOLYLINE[layer=="SLAT_OUTLINE"]')
    xs, ys = zip(*((x, y) for x, y, *_ in outline.get_points()), strict=True)
    assert min(xs) == pytest.approx(0, abs=1e-3)
    assert min(ys) == pytest.approx(0, abs=1e-3)
    assert max(xs) - min(xs) == pytest.approx(600, abs=1e-3), "it lies on its side"
    import pypdfium2

    document = pypdfium2.PdfDocument(sheet)
    text = " ".join(page.get_textpage().get_text_range() for page in document)
    size = document[0].get_size()
    document.close()
    assert "mirrored, turned a quarter to the left; zero at its lower-left corner" in text.replace(
        "\r\n", " "
    )
    assert size == pytest.approx((612, 792), abs=0.5), "Letter"


def test_what_a_release_froze_stays_whatever_is_set_later(world: World):
    """The same order exported twice, the second time after everything about the workshop has changed."""
    whole = world.released()
    with archive(world, whole) as opened:
        before = {name: opened.read(name) for name in opened.namelist()}
    settings = shop.get_settings(world.ctx, world.maker).workshop
    asked = shop.WorkshopContent("Another name", settings.allowances, "v60", 365)
    shop.save_workshop(world.ctx, world.maker, asked, settings.revision)
    model = shop.get_model(world.ctx, world.maker, "longwalk-bench")
    named = replace(model.layout, name="Another bench")
    shop.save_model(world.ctx, world.maker, named, {}, model.revision)
    machining.save_machine(world.ctx, world.maker, LYING, 0)
    moved = replace(world, ctx=replace(world.ctx, base_url="https://elsewhere.example"))
    with world.database.writing() as connection:
        connection.exec_driver_sql("DELETE FROM batches")
    with archive(moved, whole) as opened:
        after = {name: opened.read(name) for name in opened.namelist()}
    assert {name for name in before if before[name] != after.get(name)} == set()


def test_settings_that_make_no_machine_are_refused_and_changes_are_seen(world: World):
    for wrong in (
        replace(LYING, quarter_turns=4),
        replace(LYING, bed_width=float("nan")),
        replace(LYING, end_trim=500.0, board_length=900.0),
    ):
        with pytest.raises(InvalidError):
            machining.save_machine(world.ctx, world.maker, wrong, 0)
    assert machining.save_machine(world.ctx, world.maker, LYING, 0).revision == 1
    with pytest.raises(StaleError):
        machining.save_machine(world.ctx, world.maker, LYING, 0)
    with pytest.raises(NotAllowedError):
        machining.save_machine(world.ctx, world.helper, LYING, 1)
    assert machine_from({**LYING.facts, "of a newer version": 1}) == LYING


def test_boards_and_days_of_an_order(real_world: World):
    world = real_world
    whole = world.offered()
    plan = planning.plan_work(world.ctx, world.helper, whole.order.id)
    assert plan.boards.whole >= plan.boards.bound >= 0
    assert plan.days.holds is None
    wanted = replace(content(), needed_by=date(2026, 5, 5), lines=content().lines)
    lines = (replace(wanted.lines[0], id=whole.lines[0].id, quantity=500),)
    client = world.client(whole.order.id)
    revision = world.look(whole).order.revision
    ordering.amend_order(world.ctx, client, whole.order.id, revision, asdict(replace(wanted, lines=lines)))
    late = planning.plan_work(world.ctx, world.maker, whole.order.id).days
    assert late.holds is False
    assert "too late by" in late.sentence
    with pytest.raises(NotAllowedError):
        planning.plan_work(world.ctx, client, whole.order.id)
    with pytest.raises(NotFoundError):
        planning.plan_work(world.ctx, world.stranger, whole.order.id)


@pytest.mark.parametrize(
    ("change", "words"),
    [
        ({"thickness": 19.0}, "19 mm thick"),
        ({"width": 400.0}, "does not come out"),
        ({"length": 9000.0}, "larger board"),
    ],
)
def test_parts_that_no_board_gives_are_told_in_words(world: World, change, words):
    """It was a fault: the order and its pages answered 500."""
    whole = world.offered()
    model = shop.get_model(world.ctx, world.maker, "longwalk-bench")
    sound = Part("rail", "Rail", 4, 600.0, 90.0, 25.4)
    parts = tuple(replace(sound, key=f"rail-{n}", **change) for n in range(5))
    shop.save_model(world.ctx, world.maker, replace(model.layout, parts=parts), {}, model.revision)
    with pytest.raises(ConflictError, match=words) as refused:
        planning.plan_work(world.ctx, world.maker, whole.order.id)
    assert refused.value.code == "no-board"
    assert "And so it is for 2 more." in str(refused.value)
