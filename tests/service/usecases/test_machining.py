"""The machine as a setting, what a release freezes, and the plan of boards and days."""

from __future__ import annotations

import io
import os
import subprocess
import sys
import zipfile
from dataclasses import replace
from datetime import date

import ezdxf
import pytest

from service.orders.errors import Invalid, NotAllowed, NotFound, Stale
from service.orders.machine import Machine, machine_from
from service.usecases import approving, machining, ordering, planning, producing, shop
from service.usecases.answers import WholeOrder
from tests.service.usecases.world import RING, World, content, shown

LYING = Machine(quarter_turns=1, mirrored=True, zero="lower-left", splines=True, paper="Letter")


def archive(world: World, whole: WholeOrder) -> zipfile.ZipFile:
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


_EXPORT = """
import hashlib, locale, secrets, time
secrets.token_hex = lambda count: "5a" * count  # the salts of the made-up record
from artwork.cut import Cut
from artwork.drawings.beds import Run, bed_layouts
from artwork.drawings.dxf import dxf
from artwork.drawings.pdf import pdf
from artwork.drawings.svg import svg
from artwork.intake import read_artwork
from artwork.lettering.contact_sheet import contact_sheet
from artwork.lettering.field import Field
from artwork.lettering.fitting import FitRule
from artwork.lettering.paper import pdf as paper_pdf
from artwork.lettering.roster import typed
from artwork.lettering.runs import Run as Names, judge_run
from artwork.placing import largest_fit
from artwork.preview import preview_png
from seeds.shop import load
from service.batches.assemble import archive
from tests.service.batches.making import SIGNER, Shelf, batch_of
locale.setlocale(locale.LC_ALL, "")
time.tzset()
shop = load()
slat = shop.model("fernhollow-chair").slat("back-centre")
outline = read_artwork(shop.artwork("crest.svg").data, "crest.svg").outline
cut = Cut(outline, slat, largest_fit(outline, slat, shop.allowances), shop.bits[0], shop.allowances)
beds = bed_layouts([Run(cut, 3, "crest")])
rule, field = FitRule("lato-bold", 30.0, 20.0), Field(0, 300, 300, 60, 90.0)
run = judge_run(Names(typed("Rosa").entries, rule, field, slat, shop.bits[0], shop.allowances))
made = [svg(cut), dxf(cut), pdf(cut), preview_png(cut, None, 1.0), beds[0].svg(), beds[0].dxf()]
made += [paper_pdf(contact_sheet(run, "names"), "names"), b"".join(archive(batch_of(Shelf()), SIGNER))]
print(" ".join(hashlib.sha256(each).hexdigest()[:16] for each in made))
"""


def test_exports_in_other_time_zones_and_languages_are_the_same_bytes():
    found = set()
    for zone, language in (("Pacific/Auckland", "C.UTF-8"), ("America/St_Johns", "C"), ("UTC", "POSIX")):
        env = {**os.environ, "TZ": zone, "LC_ALL": language, "PYTHONHASHSEED": str(len(zone))}
        made = subprocess.run(
            [sys.executable, "-c", _EXPORT], capture_output=True, text=True, env=env, check=True
        )
        found.add(made.stdout)
    assert len(found) == 1


def test_settings_that_make_no_machine_are_refused_and_changes_are_seen(world: World):
    for wrong in (
        replace(LYING, quarter_turns=4),
        replace(LYING, bed_width=float("nan")),
        replace(LYING, end_trim=500.0, board_length=900.0),
    ):
        with pytest.raises(Invalid):
            machining.save_machine(world.ctx, world.maker, wrong, 0)
    assert machining.save_machine(world.ctx, world.maker, LYING, 0).revision == 1
    with pytest.raises(Stale):
        machining.save_machine(world.ctx, world.maker, LYING, 0)
    with pytest.raises(NotAllowed):
        machining.save_machine(world.ctx, world.helper, LYING, 1)
    assert machine_from({**LYING.facts, "of a newer version": 1}) == LYING


def test_boards_and_days_of_an_order(real_world: World):
    world = real_world
    whole = world.offered()
    plan = planning.plan_work(world.ctx, world.helper, whole.order.id)
    assert plan.boards.boards >= plan.boards.bound >= 0
    assert plan.days.holds is None
    wanted = replace(content(), needed_by=date(2026, 5, 5), lines=content().lines)
    lines = (replace(wanted.lines[0], id=whole.lines[0].id, quantity=500),)
    client = world.client(whole.order.id)
    revision = world.look(whole).order.revision
    ordering.amend_order(world.ctx, client, whole.order.id, revision, replace(wanted, lines=lines))
    late = planning.plan_work(world.ctx, world.maker, whole.order.id).days
    assert late.holds is False
    assert "too late by" in late.sentence
    with pytest.raises(NotAllowed):
        planning.plan_work(world.ctx, client, whole.order.id)
    with pytest.raises(NotFound):
        planning.plan_work(world.ctx, world.stranger, whole.order.id)
