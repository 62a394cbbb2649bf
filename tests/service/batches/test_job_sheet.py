"""Job sheet and cut list, read back: text and pictures by PDFium, the QR code by OpenCV, CSV by csv."""

from __future__ import annotations

import csv
import io
import json
import re
from dataclasses import replace

import cv2
import numpy as np
import pypdfium2
import pytest
from reportlab.lib.units import mm
from reportlab.pdfbase.pdfmetrics import stringWidth
from shapely import affinity

from artwork.drawings import SLAT_FRAME
from artwork.workpiece import Allowances, Bit
from service.batches.cautions import DEFERS, across_grain, advice, cautions, order_of_work
from service.batches.cut_list import HEADER, cut_list
from service.batches.job_sheet import job_sheet
from service.batches.jobs import MOST_DRAWN, Job, JobList
from service.batches.sheet import PLAIN, shortened
from service.orders.machine import Machine
from service.orders.units import Units
from tests.service.batches.making import FIGURES, SHOP, Shelf, carving_of, order_of

ORDER = order_of(12)
BOTH_BITS = (("wide", 60.0), ("fine", 30.0))


def jobs(count: int = 2, frame=SLAT_FRAME, language="en", **change) -> list[Job]:
    shelf, gathered = Shelf(), JobList(frame, language=language)
    for number in range(1, count + 1):
        carving = carving_of(shelf, ORDER, number, **change)
        gathered.add(carving, json.loads(shelf.get(carving.digest)), f"{number:03}-back-centre")
    return gathered.jobs


def pages(data: bytes) -> list[str]:
    return [page.get_textpage().get_text_bounded() for page in pypdfium2.PdfDocument(data)]


def picture(data: bytes, page: int = 0, scale: float = 3.0) -> np.ndarray:
    return np.asarray(pypdfium2.PdfDocument(data)[page].render(scale=scale).to_pil())


def test_it_says_what_the_bench_must_know() -> None:
    *fronts, block = pages(job_sheet(SHOP, ORDER, jobs(), "b1"))
    front = "\n".join(fronts)
    for words in (
        "order 12", "Quillfern Botanical Garden", "Needed by 1 May 2026", "12 × Fernhollow chair",
        "Carve the art with the V-bit", "Cut the part out", "Round over every edge, 9.525 mm",
        "Sand 0.30 mm", "Check before you cut", "Cautions", "batch b1", "7.80", "8.34", "17.06",
        "18.34 mm thick or more",
    ):  # fmt: skip
        assert words in front
    for words in (
        "wide centre back slat", "25.40 mm western red cedar, face up", "v60: 60°",
        "7.80 mm; limit 8.46 mm", "8.34 mm, where the board",
        "17.06 mm", "3.10 mm, needs 1.89 mm", "about 4.2 min", "± 0.40 mm",
        "all 12 pieces of line 1",
    ):  # fmt: skip
        assert words in block


def test_a_figure_is_never_rounded_to_the_unsafe_side() -> None:
    figures = {**FIGURES, "deepest_cut": 8.341, "wood_left": 17.059}
    text = pages(job_sheet(SHOP, ORDER, jobs(check={"figures": figures}), "b1"))[-1]
    assert "8.35 mm" in text
    assert "17.05 mm" in text


def test_flat_bottoms_are_cleared_as_the_shop_says() -> None:
    floors = {"figures": {**FIGURES, "floor_area": 400.0}}
    plain, floored = jobs(), jobs(check=floors)
    tooled = [replace(job, allowances=Allowances(flat_bit=6.35, last_pass=0.3)) for job in floored]
    text = [
        " ".join(" ".join(pages(job_sheet(SHOP, ORDER, each, "b1"))).split())
        for each in (plain, floored, tooled)
    ]
    assert "Flat bottoms" not in text[0]
    assert "in lines 0.38 mm apart, which leave ridges 0.20 mm high" in text[1]
    assert "Flat bottoms hold water" in text[1]
    assert "change to the flat bit, 6.35 mm across" in text[2]
    assert "the last 0.30 mm as a light pass" in text[2]


def test_advice_says_where_it_comes_from() -> None:
    """WRC, flat-sawn: 139.7 · 0.00234 · 3 = 0.98 mm (Wood Handbook, FPL-GTR-190, Table 13-5)."""
    said = advice(jobs()[0].figure.slat, Allowances(finish_film=0.1), floors=True)
    for topic in ("tear out", "knot", "hold water"):
        assert sum(topic in each for each in said) == 1
        assert all("common practice" in each for each in said if topic in each)
    assert any("140 mm wide grows by about 1.0 mm" in each and "Wood Handbook" in each for each in said)


def test_a_slat_that_lies_grows_across_its_grain_and_not_along_it() -> None:
    upright = jobs()[0].figure.slat
    lying = replace(upright, outline=affinity.rotate(upright.outline, 90, origin=(0, 0)), grain_deg=0.0)
    assert across_grain(lying) == pytest.approx(across_grain(upright)) == pytest.approx(139.7)


def test_flat_bottoms_of_every_bit_are_cleared_before_anything_is_cut_out() -> None:
    one = jobs()[0]
    works = [
        (one.figure.slat, replace(one.bit, key=key, angle_deg=deg), one.allowances) for key, deg in BOTH_BITS
    ]
    steps = order_of_work(works, floors=True)
    assert [words.split()[0] for words in steps] == ["Carve", "Flat", "Flat", "Cut", "Round", "Sand"]
    assert "“wide”" in steps[1]
    assert "“fine”" in steps[2]


def test_a_shop_that_measures_in_inches_reads_no_millimetre() -> None:
    """One inch is 25.4 mm (international yard and pound agreement, 1959); 8.341 mm at worst is rounded up."""
    figures = {**FIGURES, "deepest_cut": 8.341, "wood_left": 17.059}
    text = " ".join(
        " ".join(page.split())
        for page in pages(
            job_sheet(SHOP, replace(ORDER, units=Units.INCH), jobs(check={"figures": figures}), "b1")
        )
    )
    assert " mm" not in text
    assert "0.328" not in text, "0.32839 in at worst"
    for words in (
        "0.329 in",
        "0.671 in",
        "1.000 in western red cedar",
        "78.7 and 27.6 in/min",
        "0.500 in across",
    ):
        assert words in text, words
    assert "in)" not in " ".join(pages(job_sheet(SHOP, ORDER, jobs(), "b1")))


def test_a_worn_tip_is_told_its_limit() -> None:
    """The tightest line has 3.10 − 1.89 = 1.21 to spare: as much wider may the flat become."""
    front = " ".join(pages(job_sheet(SHOP, ORDER, jobs(), "b1"))[0].split())
    assert "less 1.155 × its depth. Worn beyond 1.36 mm" in front


def test_the_qr_code_leads_to_the_order() -> None:
    grey = cv2.cvtColor(picture(job_sheet(SHOP, ORDER, jobs(), "b1"), scale=4.0), cv2.COLOR_RGB2GRAY)
    corner = grey[: grey.shape[0] // 5, grey.shape[1] * 2 // 3 :]
    words, *_ = cv2.QRCodeDetector().detectAndDecode(corner)
    assert words == ORDER.address


@pytest.mark.parametrize("paper", ["A4", "Letter"])
def test_it_prints_in_black_and_white_on_either_paper(paper) -> None:
    data = job_sheet(SHOP, replace(ORDER, machine=Machine(paper=paper)), jobs(30), "b1")
    document = pypdfium2.PdfDocument(data)
    for number in range(len(document)):
        seen = picture(data, number, 1.0).astype(int)
        assert np.ptp(seen, axis=2).max() <= 2  # no colour
        rows, columns = np.nonzero(seen.min(axis=2) < 128)
        # 72 dots per inch: everything within 6 mm of the edges of A4 and Letter alike
        assert columns.min() / 72 * 25.4 > 6
        assert columns.max() / 72 * 25.4 < 210 - 6
        assert rows.max() / 72 * 25.4 < 279.4 - 6


def test_a_long_order_goes_on_over_sheets_and_loses_no_carving() -> None:
    sheets = pages(job_sheet(SHOP, ORDER, jobs(61), "b1"))
    text = "\n".join(sheets)
    assert text.count("wide centre back slat") == 62  # a row each, and the block they share
    assert text.count("worst depth") >= 2  # the heading, again on the next sheet
    assert "1 to 61" in text
    assert len(sheets) < 5
    assert "51 h 14 min" in text  # 61 carvings of 12 × 4.2 min


def test_a_short_run_is_drawn_carving_by_carving() -> None:
    text = "\n".join(pages(job_sheet(SHOP, ORDER, jobs(MOST_DRAWN), "b1")))
    for number in range(1, MOST_DRAWN + 1):
        assert f"{number}  all 12 pieces of line 1" in text or f"{number} all 12 pieces of line 1" in text
    assert len(jobs(MOST_DRAWN + 1)[-1].figure.art) == 0
    assert len(jobs(MOST_DRAWN)[-1].figure.art) == 2


def test_the_machine_frame_is_on_the_sheet() -> None:
    machine = Machine(1, True, "lower-left")
    text = pages(job_sheet(SHOP, replace(ORDER, machine=machine), jobs(1, machine.frame), "b1"))[-1]
    assert "mirrored, turned a quarter to the left; zero at its lower-left corner" in text


def test_names_in_any_script_are_drawn() -> None:
    plain = picture(job_sheet(SHOP, replace(ORDER, client=" "), jobs(1), "b1"))
    for client in ("Сад Калина", "גן הנוצה", "حديقة", "Žluťoučký kůň"):
        named = picture(job_sheet(SHOP, replace(ORDER, client=client), jobs(1), "b1"))
        assert (named.astype(int) - plain).min() < -200
    job_sheet(SHOP, replace(ORDER, client="漢字"), jobs(1), "b1")  # no typeface of the set has it: no crash


def test_a_zero_below_the_face_is_told() -> None:
    made_up = replace(jobs(1)[0], allowances=Allowances(sanding_made_up=True))
    front, *_, block = pages(job_sheet(SHOP, ORDER, [made_up], "b1"))
    assert "0.30 mm lower to make up for" in front.replace("\r\n", " ")
    assert "made up for by the bit's zero" in block


@pytest.mark.parametrize(
    ("species", "words"),
    [
        ("western-redcedar", "plicatic acid"),
        ("white-oak", "ACGIH A1"),
        ("mahogany", "ACGIH A2"),
        ("sapele", "tropical hardwood"),
        ("sugar-maple", "NIOSH"),
    ],
)
def test_cautions_are_those_of_the_wood_and_defer_to_others(species, words) -> None:
    said = cautions(species)
    assert words in said[0]
    assert said[-1] == DEFERS
    assert any("Stay with the machine" in each for each in said)
    for claim in ("food", "ADA", "structural"):
        assert not any(claim in each for each in said)


def test_the_cut_list_reads_back_and_calculates_nothing() -> None:
    evil = [replace(job, slat_name='=HYPERLINK("x")', model_name="+1", where="@now") for job in jobs(1)]
    rows = list(csv.reader(io.StringIO(cut_list(ORDER, [*evil, *jobs(2)]).decode("utf-8-sig"))))
    assert tuple(rows[0]) == HEADER
    assert len(rows) == 4
    assert rows[1][3] == "'+1"
    assert rows[1][4].startswith("'=")
    assert rows[1][5] == "'@now"
    by_name = dict(zip(rows[0], rows[2], strict=True))
    assert [float(by_name[f"{name}_mm"]) for name in ("programme_depth", "depth_limit", "worst_depth")] == [
        7.8, 8.46, 8.34,
    ]  # fmt: skip
    assert float(by_name["minutes_all"]) == pytest.approx(50.4)
    assert by_name["bit"] == Bit("v60").key


def test_a_piece_says_which_text_it_carries_and_a_name_no_typeface_has_is_said_so() -> None:
    text = pages(job_sheet(SHOP, ORDER, jobs(2, piece=3, pieces=1, text="Rosa Lane"), "b1"))[0]
    assert "piece 3 of line 1: Rosa Lane" in text
    nameless = replace(ORDER, client="植物園")
    assert "in a script this sheet cannot print" in pages(job_sheet(SHOP, nameless, jobs(), "b1"))[0]


def test_words_of_a_row_stay_in_their_column():
    """The mark's row once ran into the figures beside it."""
    long = "all 1200 pieces of line 31: own mark v12, on the rail by the pond"
    shown = shortened(long, 46.0, 8)
    assert shown.endswith("…") and long.startswith(shown[:-1].rstrip())
    assert stringWidth(shown, PLAIN, 8) <= 46.0 * mm
    usual = "all 12 pieces of line 12: own mark v2"
    assert shortened(usual, 46.0, 8) == usual


ENGLISH = re.compile(r"\b(the|and|of|with|that|is|are|not|all|pieces|carving|zero|board)\b", re.I)
"""Little words that no German sentence has."""


def test_a_german_shop_reads_german_but_for_names() -> None:
    machine = Machine(language="de", mirrored=True, zero="lower-left", zero_per="bed", tab_width=0.0)
    check = {"figures": FIGURES | {"floor_area": 40.0}}
    gathered = jobs(2, machine.frame, "de", check=check)
    text = "\n".join(pages(job_sheet(SHOP, replace(ORDER, machine=machine), gathered, "b1")))
    assert "Arbeitsblatt · Auftrag 12" in text
    assert "alle 12 Stück von Position 1" in text
    assert "gespiegelt; Nullpunkt: ihre linke untere Ecke" in text
    assert "7,80 mm; Grenze 8,46 mm" in text
    theirs = ("by the pond", "Fernhollow chair", "wide centre back slat", "back-centre", "Wood Handbook")
    for name in theirs:
        text = text.replace(name, "")
    assert [line for line in text.splitlines() if ENGLISH.search(line)] == []
