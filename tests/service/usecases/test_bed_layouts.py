"""Bed layouts in a batch: there, the same each time, and told when the bed is too small."""

from __future__ import annotations

import csv
import io
import json
import zipfile

import ezdxf
import pypdfium2

from artwork.errors import EngineError
from service.usecases import planning, producing

from .world import World


def archive_of(world: World) -> zipfile.ZipFile:
    whole = world.released()
    batch = producing.take_batch(world.ctx, world.maker, (whole.order.id,))
    world.work()
    batch = producing.get_batch(world.ctx, world.maker, batch.id)
    assert batch.state == "ready", batch.message
    return zipfile.ZipFile(io.BytesIO(world.ctx.blobs.get(batch.archive or "")))


def job_sheet_text(opened: zipfile.ZipFile) -> str:
    (name,) = (each for each in opened.namelist() if each.endswith("job-sheet.pdf"))
    return pypdfium2.PdfDocument(opened.read(name))[0].get_textpage().get_text_bounded()


def test_every_order_comes_with_its_bed_layouts(world: World):
    opened = archive_of(world)
    (layout,) = (each for each in opened.namelist() if "/bed-01.svg" in each)
    assert b"back wide" in opened.read(layout)
    drawn = [each for each in opened.namelist() if "/bed-" in each and each.endswith(".svg")]
    assert f"Bed layouts of the whole order: {len(drawn)}" in job_sheet_text(opened)


def test_boards_beds_lists_and_plan_are_one(real_world: World):
    """The plan on the order's page, the job sheet, the beds and the list of parts count the same boards."""
    opened = archive_of(real_world)
    (listing,) = (each for each in opened.namelist() if each.endswith("data/batch.json"))
    (order,) = json.loads(opened.read(listing))["orders"]
    plan = planning.plan_work(real_world.ctx, real_world.maker, order["id"])
    assert len(order["boards"]) == plan.boards.whole
    assert f"Boards: {plan.boards.sentence}" == order["plan"][0]
    on_beds = [
        board
        for each in opened.namelist()
        if "/bed-" in each and each.endswith(".dxf")
        for board in ezdxf.read(io.StringIO(opened.read(each).decode())).query("LWPOLYLINE[layer=='BOARD']")
    ]
    assert len(on_beds) == plan.boards.whole
    (parts,) = (each for each in opened.namelist() if each.endswith("parts-list.csv"))
    rows = list(csv.DictReader(io.StringIO(opened.read(parts).decode("utf-8-sig"))))
    assert len(rows) == 12 * 3 == len({row["key"] for row in rows})
    assert {int(row["board"]) for row in rows} == set(range(1, plan.boards.whole + 1))
    assert [row["proof"] != "" for row in rows].count(True) == 12


def test_a_bed_too_small_is_told_on_the_job_sheet_and_stops_nothing(world: World):
    refusal = EngineError("bed-too-small", "The rail does not fit the bed.", "Give the bed's true size.")
    world.ctx.compute.trouble["draw_order_sheets"] = refusal
    opened = archive_of(world)
    assert not [each for each in opened.namelist() if "/bed-" in each]
    assert "No bed layout: The rail does not fit the bed." in job_sheet_text(opened)


def test_the_real_engine_lays_out_a_real_order(real_world: World):
    opened = archive_of(real_world)
    names = {each.rsplit("/", 1)[1] for each in opened.namelist()}
    assert {"bed-01.svg", "bed-01.dxf", "job-sheet.pdf", "cut-list.csv", "parts-list.csv"} <= names
