"""Runs: every piece like any artwork, one digest, a sheet that can be read by other programs."""

from __future__ import annotations

import io
import json
import re
from dataclasses import replace

import cv2
import numpy as np
import pypdfium2
import pytest

from artwork.axis import study
from artwork.cut import Cut
from artwork.digest import digest
from artwork.drawings.canvas import PAPERS
from artwork.errors import EngineError
from artwork.findings import check
from artwork.jsonable import check_from_json, check_to_json
from artwork.lettering.contact_sheet import contact_sheet
from artwork.lettering.field import Field
from artwork.lettering.fitting import FitRule, fit
from artwork.lettering.paper import Page, Words, pdf, pictures, rectangle
from artwork.lettering.piece_pictures import DENSITY, piece_pictures
from artwork.lettering.roster import typed
from artwork.lettering.runs import JudgedRun, Run, judge_run, judged_pieces
from artwork.lettering.typefaces import typefaces
from seeds.shop import load

SHOP = load()
SLAT = SHOP.model("fernhollow-chair").slat("seat-front")
FIELD = Field(0.0, 60.0, 400.0, 70.0)
RULE = FitRule("heebo-bold", 36.0, 25.0, tracking=0.06, least_tracking=0.03)
TEXTS = (
    "Jo Lane\nRosa 🌿\nEwan Sedge\nJo Lane\n" + "Wilhelmina Featherstonehaugh-Thistlewood\n" + "שלום (2024)"
)


def run_of(texts: str, **changes: object) -> Run:
    entries = typed(texts).entries
    run = Run(entries, RULE, FIELD, SLAT, SHOP.bits[0], SHOP.allowances)
    return replace(run, **changes)


JUDGED = judge_run(run_of(TEXTS))


def test_a_piece_is_judged_exactly_as_the_same_art_would_be():
    lettered = fit("Ewan Sedge", RULE, FIELD)
    cut = Cut(lettered.outline, SLAT, lettered.placement, SHOP.bits[0], SHOP.allowances)
    alone, judged = check(cut, study(cut.outline)), JUDGED.pieces[2].judged
    assert judged.digest == digest(cut)
    assert judged.check.figures == alone.figures
    assert judged.check.sentence == alone.sentence
    assert [f.message for f in judged.check.findings] == [f.message for f in alone.findings]


def test_equal_texts_share_one_judgement_and_one_digest():
    assert JUDGED.pieces[0].judged is JUDGED.pieces[3].judged
    assert JUDGED.pieces[0].judged.digest != JUDGED.pieces[2].judged.digest


def test_refused_pieces_do_not_stop_the_run_and_come_first_among_the_exceptions():
    assert [piece.number for piece in JUDGED.exceptions if piece.judged.stops][:2] == [2, 5]
    assert "U+1F33F HERB" in JUDGED.pieces[1].judged.notes[0]
    assert "would need capitals of" in JUDGED.pieces[4].judged.notes[0]
    assert JUDGED.stopped == 2
    assert JUDGED.sentence.startswith("4 of 6 pieces will carve") and "2 cannot be made" in JUDGED.sentence


def test_what_was_judged_before_is_not_judged_again_and_nothing_else_is_taken_for_it():
    first = JUDGED.pieces[0].judged
    marked = replace(first.check, sentence="judged before")
    pieces = list(judged_pieces(run_of(TEXTS), known={first.digest: marked, "0" * 64: marked}))
    said = [piece.judged.check.sentence for piece in pieces if piece.judged.check]
    assert said.count("judged before") == 2  # the same text twice
    assert [p.judged.digest for p in pieces] == [p.judged.digest for p in JUDGED.pieces]
    assert [p.judged.notes for p in pieces][4] == JUDGED.pieces[4].judged.notes
    stored = {
        p.judged.digest: check_from_json(json.loads(json.dumps(check_to_json(p.judged.check))))
        for p in JUDGED.pieces
        if p.judged.check
    }
    again = JudgedRun(JUDGED.run, tuple(judged_pieces(JUDGED.run, known=stored)))
    ours, theirs = (list(pictures(pdf(contact_sheet(each, "x"), "x"))) for each in (again, JUDGED))
    assert ours == theirs


def test_one_digest_names_the_whole_run():
    again = judge_run(run_of(TEXTS))
    assert again.digest == JUDGED.digest and len(JUDGED.digest) == 64
    changed = [
        judge_run(run_of(TEXTS.replace("Ewan", "Evan"))),
        judge_run(run_of("\n".join(reversed(TEXTS.split("\n"))))),
        judge_run(run_of(TEXTS, allowances=replace(SHOP.allowances, sanding=0.31))),
        judge_run(run_of(TEXTS, field=replace(FIELD, y=60.1))),
    ]
    assert len({JUDGED.digest, *(other.digest for other in changed)}) == 5


def test_a_run_in_a_typeface_there_is_none_of_is_refused_as_a_whole():
    with pytest.raises(EngineError, match="no typeface"):
        judge_run(run_of(TEXTS, rule=FitRule("comic")))


# --- the sheet --------------------------------------------------------------------------------------


SHEET = pdf(contact_sheet(JUDGED, "Quillfern, names"), "Quillfern, names")


def text_of(document: bytes) -> list[str]:
    opened = pypdfium2.PdfDocument(document)
    found = [page.get_textpage().get_text_bounded() for page in opened]
    opened.close()
    return found


def test_the_sheet_names_what_is_signed_and_lists_the_exceptions():
    first, last = text_of(SHEET)
    assert "Quillfern, names" in first and JUDGED.digest in first and JUDGED.digest in last
    assert "Page 1 of 2" in first and "2 cannot be made" in first
    assert "row 2" in last and "U+1F33F HERB" in last
    assert "Cannot be made as they are" in last


def test_the_same_run_gives_the_same_bytes():
    assert pdf(contact_sheet(JUDGED, "Quillfern, names"), "Quillfern, names") == SHEET


def dark(picture: np.ndarray) -> np.ndarray:
    """Words and grooves: darker than any wood that lies in the light."""
    return (picture.astype(int).sum(axis=2) < 220).astype(np.uint8)


def carved(data: bytes, wood: bytes) -> np.ndarray:
    """Where a piece's picture is not as that of the bare wood, within the frame of those that stop."""
    one, bare = (
        cv2.imdecode(np.frombuffer(each, np.uint8), cv2.IMREAD_COLOR).astype(int) for each in (data, wood)
    )
    return (np.abs(one - bare).sum(axis=2) > 40)[10:-10, 10:-10]


def test_every_piece_is_drawn_as_it_will_be_carved_and_nothing_else():
    """The grooves of each picture against the letters' own area; a refused piece has none."""
    shown = list(piece_pictures(JUDGED))
    wood, scale = shown[1], 60.0 / (FIELD.width + 16.0) * DENSITY  # the second text was refused
    assert len({len(each) for each in shown}) == 4  # the same text twice, two refused ones
    for piece, data in zip(JUDGED.pieces, shown, strict=True):
        seen = int(carved(data, wood).sum())
        if piece.judged.cut is None:
            assert seen == 0
        else:
            assert seen == pytest.approx(piece.judged.cut.placed().region(0.01).area * scale**2, rel=0.15)


def test_pieces_of_one_board_are_drawn_as_each_would_be_alone():
    alone = [next(piece_pictures(replace(JUDGED, pieces=(piece,)))) for piece in JUDGED.pieces]
    assert list(piece_pictures(JUDGED)) == alone


def test_the_sheet_shows_the_pictures_that_are_signed():
    """The cell of the first piece on the page, as PDFium draws it, against its picture."""
    px = 10.0
    page = cv2.imdecode(np.frombuffer(next(pictures(SHEET, px)), np.uint8), cv2.IMREAD_COLOR).astype(int)
    one = cv2.imdecode(np.frombuffer(next(piece_pictures(JUDGED)), np.uint8), cv2.IMREAD_COLOR).astype(int)
    left, top = 120, 340  # 12 mm in and 34 mm down
    cell = page[top : top + one.shape[0], left : left + one.shape[1]]
    assert np.abs(cell - one).mean() < 8


def test_three_hundred_pieces_take_a_handful_of_pages():
    many = replace(JUDGED, pieces=tuple(replace(JUDGED.pieces[0], number=n) for n in range(1, 301)))
    pages = contact_sheet(many, "Names")
    assert len(pages) <= 10
    assert all(page.size == (210.0, 297.0) for page in pages)
    assert len(contact_sheet(many, "Names", PAPERS["Letter"])) <= 11


def test_turned_text_is_shown_upright():
    shapes = []
    for turn in (90.0, 0.0):
        judged = judge_run(run_of("Jo\n🌿", field=Field(0, 67, 110, 100, turn)))
        shapes.append(carved(*piece_pictures(judged)))
    both = (shapes[0] & shapes[1]).sum() / (shapes[0] | shapes[1]).sum()
    assert (
        both > 0.75
    )  # the light falls otherwise on turned grooves; turned or mirrored letters share a third


def test_words_that_need_shaping_are_drawn_as_outlines():
    page = Page((100.0, 40.0), [Words("plain", 5, 5, 5), Words("שלום", 5, 15, 5), Words("🙂?", 5, 28, 5),
                                Words("", 1, 1, 5), rectangle(80, 5, 10, 10, (0, 0, 0))])  # fmt: skip
    document = pdf([page], "words")
    assert "plain" in text_of(document)[0]
    picture = cv2.imdecode(np.frombuffer(next(pictures(document, 10.0)), np.uint8), cv2.IMREAD_COLOR)
    ink = dark(picture)
    assert int(ink[250:350, 800:900].sum()) == pytest.approx(10_000, rel=0.02)
    assert ink[200:260, :400].sum() > 500  # the Hebrew word


def test_a_picture_is_of_the_page_in_its_true_proportions():
    for size in ((210.0, 297.0), (60.0, 30.0)):
        data = next(pictures(pdf([Page(size, [])], "empty"), 4.0))
        height, width = cv2.imdecode(np.frombuffer(data, np.uint8), cv2.IMREAD_COLOR).shape[:2]
        assert (width, height) == (pytest.approx(size[0] * 4, abs=1.01), pytest.approx(size[1] * 4, abs=1.01))
    assert io.BytesIO(data).read(4) == b"\x89PNG"


def test_what_stops_says_under_which_spacing_size_or_face_it_carves():
    """Four made-up surnames in the default serif, too close and too small: each row has its cure, and it holds."""
    rule = FitRule("source-serif-bold", 25.0, 25.0)
    asked = run_of("Harrowdale\nFenwick\nWyndham\nOrmsby", rule=rule, slat=SLAT)
    stopped = [piece.judged for piece in judge_run(asked).pieces if piece.judged.stops]
    assert stopped
    for judged in stopped:
        assert judged.notes[1] == judged.cure and judged.cure.startswith("It carves ")
        face = next((face.key for face in typefaces() if f"in {face.name}" in judged.cure), rule.typeface)
        spacing = re.search(r"letter spacing of ([0-9.]+) em", judged.cure)
        size = re.search(r"capitals of ([0-9.]+) mm", judged.cure)
        tracking, height = float(spacing[1]) if spacing else 0.0, float(size[1]) if size else 25.0
        cured = FitRule(face, height, height, tracking=tracking, least_tracking=tracking)
        again = judge_run(run_of("\n".join(judged.lettered.lines), rule=cured)).pieces[0].judged
        assert not again.stops
