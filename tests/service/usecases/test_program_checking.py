"""Programs held against what was signed: what is entered, what is refused, and that another proof is another matter.

The programs are made by erosion of the drawn shape (``tests/artwork/program/toolpaths.py``), not by the engine.
"""

from __future__ import annotations

import hashlib
import json

import numpy as np
import pypdfium2
import pytest
from shapely import Polygon

from artwork.proof_facts import cut_of_facts
from artwork.tooling import depth_limit
from service.batches.order_sheets import bed_plan
from service.orders.errors import ConflictError, InvalidError, NotAllowedError, NotFoundError
from service.orders.record import EntryKind
from service.store import orders, shop
from service.store.tenant_scope import TenantScope
from service.usecases import batch_sheets, looking, privacy_and_audit, program_checking, program_sheets
from service.usecases.commands import Upload
from service.usecases.program_checking import AskedReading
from tests.artwork.program.toolpaths import Path, v_carving, written

from .world import World, only


def program_of(world: World, whole, change=None) -> bytes:
    """A program for the only carving, at coarse levels."""
    proof = next(iter(whole.proofs))
    cut = cut_of_facts(json.loads(world.ctx.blobs.get(proof.digest)))
    art = Polygon(cut.placed().contours[0].knots)
    paths = v_carving(
        art, cut.bit.angle_deg, cut.bit.tip_flat, depth_limit(cut.slat, cut.bit, cut.allowances), level=0.1
    )
    return "\n".join(written(paths, change=change)).encode()


def check(world: World, whole, data: bytes, by=None, asked=None):
    upload = Upload(data, "harrow.nc", "text/plain", (only(whole).id,))
    return program_checking.check_program(
        world.ctx, by or world.helper, whole.order.id, upload, asked or AskedReading()
    )


def test_a_good_program_is_entered_with_its_digest_and_printed(either_world: World):
    world, whole = either_world, either_world.released()
    data = program_of(world, whole)
    found = check(world, whole, data)
    assert found.outcome == "cuts-what-was-signed", found.sentence
    assert found.program == hashlib.sha256(data).hexdigest() and found.size == len(data)
    every = looking.decisions_by_order_ids(world.ctx, world.maker, [whole.order.id])[0]
    entry = next(each for each in every if each.kind is EntryKind.PROGRAM_CHECK)
    assert (entry.number, entry.digest) == (found.entry, found.digest)
    assert entry.facts == {"program": found.program, "outcome": found.outcome, "check": found.id}
    assert privacy_and_audit.verify_record(world.ctx, world.maker) is None
    assert program_checking.list_program_checks(world.ctx, world.maker, whole.order.id) == (found,)
    picture = program_checking.program_picture(world.ctx, world.maker, found.id).digest
    assert world.ctx.blobs.get(picture).startswith(b"\x89PNG")
    assert world.look(whole).order.activity > whole.order.activity
    sheet = program_sheets.program_sheet(world.ctx, world.maker, whole.order.id)
    words = " ".join(_text(sheet).split())
    assert "CHECKED: it cuts what was signed" in words and found.program in words
    assert "safe to run" not in words and "no word that a program may be run" in words


def _text(pdf: bytes) -> str:
    return " ".join(page.get_textpage().get_text_bounded() for page in pypdfium2.PdfDocument(pdf))


def test_a_changed_program_is_another_one_and_is_told_from_the_first(world: World):
    whole = world.released()
    aside = program_of(world, whole, change=lambda points: points + np.array([3.0, 0.0, 0.0]))
    found = check(world, whole, aside)
    assert found.outcome == "differs" and "+3.0 mm in x" in found.sentence
    assert found.report.missing_mm2 > 10 and found.report.differences
    upload = Upload(aside, "harrow.nc", "text/plain", ())
    again = program_checking.check_program(world.ctx, world.maker, whole.order.id, upload)
    assert (
        again.id != found.id
        and len(program_checking.list_program_checks(world.ctx, world.maker, whole.order.id)) == 2
    )


@pytest.mark.parametrize(
    ("data", "words"),
    [
        (b"", "empty"),
        (b"G0 X0 Y0 Z5\nG1 Z-1 F100\n#1=3\nM2\n", "line 3"),
        (b"G0 X0 Y0 Z5\nG1 Z-1 F100\nG55\nG0 Z5\nG1 Z-1 X3 Y3\nM2\n", "G55"),
        (b"not a program", "line 1"),
        (b"\x00\x01\x02\xff" * 50, "line 1"),
    ],
)
def test_what_cannot_be_read_is_refused_with_its_line_and_leaves_no_trace(world: World, data, words):
    whole = world.released()
    with pytest.raises(InvalidError) as refused:
        check(world, whole, data)
    assert words in refused.value.problems[0].message
    assert program_checking.list_program_checks(world.ctx, world.maker, whole.order.id) == ()


def test_only_the_bench_checks_and_only_what_was_signed(world: World):
    offered = world.offered()
    with pytest.raises(ConflictError) as refused:
        check(world, offered, b"G0 X0")
    assert refused.value.code == "not-signed"
    whole = world.released()
    with pytest.raises(NotAllowedError):
        check(world, whole, b"G0 X0", by=world.client(whole.order.id))
    with pytest.raises(NotFoundError):
        program_checking.check_program(world.ctx, world.maker, "a" * 26, Upload(b"x", "x"))
    with pytest.raises(InvalidError):
        check(world, whole, b"G0 X0", asked=AskedReading(bit="none-such"))


def test_erasing_the_client_takes_the_checks_and_leaves_the_record(world: World):
    whole = world.approved()
    found = check(world, whole, program_of(world, whole))
    now = world.look(whole).order
    privacy_and_audit.erase_client(world.ctx, world.maker, now.id, now.revision)
    with pytest.raises(NotFoundError):
        program_checking.get_program_check(world.ctx, world.maker, found.id)
    assert world.ctx.blobs.size(found.picture) is None
    assert privacy_and_audit.verify_record(world.ctx, world.maker) is None


def test_a_whole_bed_is_checked_and_each_carving_entered(world: World):
    """The program is written where the bed's own layout has the parts; straight moves around a part are left out."""
    whole = world.released()
    with world.ctx.store.reading() as connection:
        lines = orders.lines_of_orders(connection, _reach(whole), [whole.order.id])
        settings = shop.read_settings(connection, whole.order.workshop_id)
        held = batch_sheets.held_at_release(world.ctx, connection, whole.order, settings)
    content, proofs = batch_sheets.planned_order(world.ctx, whole.order, lines, held)
    bed = next(each for each in bed_plan([content], proofs) if _carved(each))
    cut = _carved(bed)[0].part.cut
    art = Polygon(cut.placed().contours[0].knots)
    limit = depth_limit(cut.slat, cut.bit, cut.allowances)
    made = v_carving(art, cut.bit.angle_deg, cut.bit.tip_flat, limit, level=0.1)
    whole_bed = [Path(_on_bed(part, path.points)) for part in _carved(bed) for path in made]
    upload = Upload("\n".join(written(whole_bed)).encode(), "bed-1.nc", "text/plain")
    (found,) = program_checking.check_bed_program(world.ctx, world.helper, whole.order.id, bed.number, upload)
    assert found.outcome == "cuts-what-was-signed", found.sentence
    count = len(_carved(bed))
    assert found.sentence == f"Bed {bed.number}: {count} of {count} carvings are cut as signed."
    assert found.digest == next(iter(whole.proofs)).digest
    with pytest.raises(InvalidError) as refused:
        program_checking.check_bed_program(world.ctx, world.helper, whole.order.id, 99, upload)
    assert refused.value.problems[0].code == "no-such-bed"


def _reach(whole) -> TenantScope:
    return TenantScope(whole.order.workshop_id, whole.order.id)


def _carved(bed):
    return [part for board in bed.boards for part in board.parts if part.part.cut is not None]


def _on_bed(part, points: np.ndarray) -> np.ndarray:
    across = points[:, :2] @ part.shape.turn.T + part.shape.shift + [part.x, part.y]
    return np.column_stack([across, points[:, 2]])
