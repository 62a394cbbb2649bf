"""Issue 7: personalised runs, boards and quotes."""

from __future__ import annotations

import random
import statistics
from dataclasses import replace

from artwork.axis import study
from artwork.cut import Cut
from artwork.digest import digest
from artwork.drawings.bed_writing import bed_dxf, bed_svg
from artwork.drawings.beds import BedBoard, BedPart, bed_layouts
from artwork.findings import Check, check
from artwork.intake import read_artwork
from artwork.lettering.contact_sheet import contact_sheet
from artwork.lettering.field import Field
from artwork.lettering.fitting import FitRule
from artwork.lettering.paper import pdf
from artwork.lettering.piece_pictures import piece_pictures
from artwork.lettering.roster import typed
from artwork.lettering.runs import JudgedRun, Run, judge_run
from artwork.placing import largest_fit
from artwork.preview import preview_png
from seeds.shop import load
from service.boards.cut_parts import CutLine, cut_parts
from service.boards.stock import Stock
from service.boards.wood_plan import plan_wood
from tests.bench.harness import Measured, alone, case, seconds

FIRST = (
    "Imke Corvin Tamsin Rosa Jo Wilma Ébène Aldous Birgit Caspian Delphine Ewan Fenna Gwilym Hester Ines "
    "Jory Keziah Lowell Maren Nils Oona Piers Quentin Rhoswen Saskia Thorne Una Viola Wren Yorick Zoë Ansel"
)
LAST = (
    "Harrowdale Ashmere Oxbarrow Lane Fairweather Löwe Thistle Bracken Marsh Fenwick Quill Greaves Holloway "
    "Ilkley Juniper Kestrel Larkspur Meadows Nettle Orchard Pemberly Rushbrook Sedge Tarn Underhill Yarrow"
)
PIECES = 300
ROUNDS = 10


def names(count: int) -> list[str]:
    """Made-up names, all different."""
    dice = random.Random(7)
    found: dict[str, None] = {}
    while len(found) < count:
        found[f"{dice.choice(FIRST.split())} {dice.choice(LAST.split())}"] = None
    return list(found)


@case(issue=7, name="personalised piece against one full artwork check", n="300 pieces", target=0.2)
def personalised() -> Measured:
    """Text → findings → relief and contact sheet, against file → findings → preview of the seed crest.

    Both sides end in the picture that is signed; the note gives the ratio without pictures on either side.
    """
    shop = load()
    slat = shop.model("fernhollow-chair").slat("seat-front")
    rule = FitRule("heebo-bold", 36.0, 25.0, tracking=0.06, least_tracking=0.03)
    entries = typed("\n".join(names(PIECES))).entries
    run = Run(entries, rule, Field(0.0, 60.0, 400.0, 70.0), slat, shop.bits[0], shop.allowances)
    crest, wide = shop.artwork("crest.svg"), shop.model("fernhollow-chair").slat("back-centre")

    def sheet(judged: JudgedRun) -> None:
        shown = list(piece_pictures(judged))
        pdf(contact_sheet(judged, "Quillfern, names", shown=shown), "Quillfern, names")

    def artwork() -> tuple[Cut, Check]:
        outline = read_artwork(crest.data, crest.name).outline
        placement = largest_fit(outline, wide, shop.allowances)
        cut = Cut(outline, wide, placement, shop.bits[0], shop.allowances)
        found = check(cut, study(outline))
        digest(cut)
        return cut, found

    one, whole = artwork(), judge_run(run)  # warms both sides; the sheet is of the whole run
    preview_png(*one), sheet(whole)
    parts = [replace(run, entries=entries[at::ROUNDS]) for at in range(ROUNDS)]
    pairs = [(seconds(lambda part=part: judge_run(part)), seconds(artwork)) for part in parts]
    judged, checked = (statistics.median(side) for side in zip(*pairs, strict=True))
    judged *= ROUNDS / PIECES
    shown, previewed = seconds(lambda: sheet(whole)) / PIECES, seconds(lambda: preview_png(*one))
    return Measured(
        judged + shown,
        checked + previewed,
        note=f"{judged * 1e3:.0f} ms a piece judged, {shown * 1e3:.0f} ms shown; "
        f"without pictures on either side {judged / checked:.3f}",
    )


@case(issue=17, name="a name judged and shown in relief against one full check", n="300 pieces", target=0.06)
def in_relief() -> Measured:
    """The same, with the figure that is aimed at since pieces are shown as they will be left."""
    return personalised()


@case(issue=20, name="boards for an order, planned part by part", n="300 chairs", target=5.0)
def boards_of_chairs() -> Measured:
    """With every part on its board, under its label."""
    parts = cut_parts([CutLine(1, load().model("fernhollow-chair"), 300, {})])
    kinds = [(Stock(), ())]
    found = alone(lambda: plan_wood(parts, kinds), rounds=3)
    plan = plan_wood(parts, kinds)
    return Measured(
        found.ours, note=f"{plan.whole} boards, bound {plan.bound}, {plan.used_share:.0%} of the wood used"
    )


@case(issue=20, name="beds drawn, SVG and DXF", n="30 chairs", target=3.0)
def beds_of_chairs() -> Measured:
    """Every part of 30 chairs, the crest on one slat of each."""
    shop = load()
    model = shop.model("fernhollow-chair")
    slat = model.slat("back-centre")
    outline = read_artwork(shop.artwork("crest.svg").data, "crest.svg").outline
    cut = Cut(outline, slat, largest_fit(outline, slat, shop.allowances), shop.bits[0], shop.allowances)
    slats = {placed.slat.key: placed.slat for placed in model.slats}
    plan = plan_wood(cut_parts([CutLine(1, model, 30, {})]), [(Stock(), ())])
    boards = [
        BedBoard(
            number,
            board.stock.name,
            board.stock.length,
            board.stock.width,
            tuple(
                BedPart(
                    part.key,
                    part.length,
                    part.width,
                    lying.along,
                    lying.across,
                    slats.get(part.part_key),
                    cut if part.part_key == "back-centre" else None,
                )
                for part, lying in board.parts
            ),
        )
        for number, board in enumerate(plan.boards, 1)
    ]

    def draw() -> int:
        return sum(len(bed_svg(layout)) + len(bed_dxf(layout)) for layout in bed_layouts(boards))

    found = alone(draw, rounds=3)
    return Measured(found.ours, note=f"{len(bed_layouts(boards))} beds, {draw() / 1e6:.0f} MB")


@case(issue=7, name="boards for an order, planned", n="300 chairs and 40 benches", target=2.0)
def boards() -> Measured:
    shop = load()
    models = (("fernhollow-chair", 300), ("longwalk-bench", 40))
    lines = [CutLine(at, shop.model(key), pieces, {}) for at, (key, pieces) in enumerate(models, 1)]
    parts = cut_parts(lines)
    kinds = [(Stock(), ())]
    found = alone(lambda: plan_wood(parts, kinds), rounds=3)
    plan = plan_wood(parts, kinds)
    return Measured(found.ours, note=f"{plan.whole} boards, bound {plan.bound}")
