"""PDF pages made by reportlab (and by hand where it cannot): vectors, forms, text, pages, pictures."""

from __future__ import annotations

import io
import math
from typing import Any

import numpy as np
import pytest
from fontTools.pens.areaPen import AreaPen
from fontTools.ttLib import TTFont as FontFile
from PIL import Image
from reportlab.lib.utils import ImageReader
from reportlab.pdfbase import pdfmetrics
from reportlab.pdfbase.ttfonts import TTFont
from reportlab.pdfgen.canvas import Canvas

from artwork.intake import Limits
from tests.artwork.intake.made import area, codes, emblem, emblem_truth, overlap, read, refused, sound


def page(draw: Any, size: tuple[float, float] = (300, 200), **options: Any) -> bytes:
    stream = io.BytesIO()
    canvas = Canvas(stream, pagesize=size, invariant=True, **options)
    draw(canvas)
    canvas.save()
    return stream.getvalue()


def raw(
    content: str,
    extra: str | tuple[str, ...] = "",
    resources: str = "",
    page_entries: str = "",
    catalog_entries: str = "",
) -> bytes:
    """A one-page file written by hand, for operators that the library has no function for."""
    objects = [
        f"<</Type/Catalog/Pages 2 0 R{catalog_entries}>>",
        "<</Type/Pages/Kids[3 0 R]/Count 1>>",
        f"<</Type/Page/Parent 2 0 R/MediaBox[0 0 200 100]/Contents 4 0 R/Resources<<{resources}>>{page_entries}>>",
        f"<</Length {len(content)}>>stream\n{content}\nendstream",
        *(extra if isinstance(extra, tuple) else [extra] if extra else []),
    ]
    body, places = "%PDF-1.7\n", []
    for number, each in enumerate(objects, 1):
        places.append(len(body))
        body += f"{number} 0 obj{each}endobj\n"
    table = "".join(f"{place:010} 00000 n \n" for place in places)
    start = len(body)
    body += f"xref\n0 {len(objects) + 1}\n0000000000 65535 f \n{table}"
    body += f"trailer<</Size {len(objects) + 1}/Root 1 0 R>>startxref\n{start}\n%%EOF"
    return body.encode("latin-1")


def disc(canvas: Canvas) -> None:
    canvas.circle(100, 100, 50, stroke=0, fill=1)


def test_a_circle_is_the_circle_that_the_file_draws() -> None:
    reading = read(page(disc), "art.pdf")
    assert (reading.kind, reading.format) == ("vector", "pdf")
    sound(reading.outline)
    assert len(reading.outline.contours[0].knots) == 4
    # reportlab's circle is four cubics, 2.8e-4 of the radius off: the file's own curve, kept
    assert area(reading) == pytest.approx(math.pi * 2500, rel=1e-3)
    assert np.allclose(reading.outline.bounds, (50, 50, 150, 150), atol=1e-3)


def test_points_are_a_stated_size() -> None:
    outline = read(page(disc)).outline
    assert outline.stated_mm == pytest.approx(25.4 / 72)


def test_white_on_top_knocks_out() -> None:
    def draw(canvas: Canvas) -> None:
        canvas.rect(20, 20, 100, 60, stroke=0, fill=1)
        canvas.setFillColorRGB(1, 1, 1)
        canvas.rect(40, 30, 20, 20, stroke=0, fill=1)

    assert area(read(page(draw))) == pytest.approx(6000 - 400)


def test_strokes_dashes_and_rules() -> None:
    assert area(read(raw("10 w 0 J 20 50 m 120 50 l S"))) == pytest.approx(1000)
    assert area(read(raw("10 w 1 J 20 50 m 120 50 l S"))) == pytest.approx(1000 + math.pi * 25, rel=1e-4)
    assert area(read(raw("10 w [20 10] 0 d 20 50 m 120 50 l S"))) == pytest.approx(700)
    nested = "10 10 80 80 re 20 20 60 60 re "
    assert area(read(raw(nested + "f*"))) == pytest.approx(6400 - 3600)
    assert area(read(raw(nested + "f"))) == pytest.approx(6400)
    assert area(read(raw("2 0 0 1 0 0 cm 4 w 20 50 m 60 50 l S"))) == pytest.approx(320)


def test_hairlines_are_remarked() -> None:
    reading = read(raw("0 w 20 50 m 120 50 l S"))
    assert "hairlines" in codes(reading)
    assert area(reading) == pytest.approx(25)


def test_clips_hide() -> None:
    assert area(read(raw("q 0 0 50 100 re W n 20 20 60 20 re f Q"))) == pytest.approx(600)
    assert area(read(raw("150 20 100 20 re f"))) == pytest.approx(1000)  # the page ends at 200


def test_forms_within_forms_are_unfolded() -> None:
    def draw(canvas: Canvas) -> None:
        canvas.beginForm("inner")
        canvas.rect(0, 0, 10, 10, stroke=0, fill=1)
        canvas.endForm()
        canvas.beginForm("outer")
        canvas.doForm("inner")
        canvas.translate(30, 0)
        canvas.doForm("inner")
        canvas.endForm()
        canvas.translate(50, 50)
        canvas.scale(2, 1)
        canvas.doForm("outer")

    reading = read(page(draw))
    assert area(reading) == pytest.approx(400)
    assert np.allclose(reading.outline.bounds, (50, 50, 130, 60), atol=1e-3)


def test_a_turned_page_is_upright() -> None:
    reading = read(raw("10 10 60 20 re f", page_entries="/Rotate 90"))
    assert reading.outline.size == pytest.approx((20, 60))
    flag = read(raw("10 10 m 70 10 l 10 30 l h f", page_entries="/Rotate 90"))
    (triangle,) = flag.outline.contours
    # turned clockwise, the right angle at the lower left comes to the upper left
    left, low, right, high = triangle.bounds
    corners = {(round(x), round(y)) for x, y in triangle.knots.tolist()}
    assert corners == {(round(left), round(high)), (round(left), round(low)), (round(right), round(high))}


def test_several_pages_are_said_and_one_is_chosen() -> None:
    def draw(canvas: Canvas) -> None:
        disc(canvas)
        canvas.showPage()
        canvas.rect(10, 10, 30, 20, stroke=0, fill=1)

    data = page(draw)
    first = read(data)
    assert first.pages == 2
    assert "several-pages" in codes(first)
    assert area(read(data, page=1)) == pytest.approx(600)
    assert refused(data, page=2).code == "page-not-there"
    assert refused(data, page=-1).code == "page-not-there"


@pytest.fixture(scope="module")
def font_path(tmp_path_factory: pytest.TempPathFactory) -> str:
    """Inter (npm @fontsource/inter, OFL-1.1) as plain TrueType."""
    from tests.published.corpus import FONTS

    font = FontFile(FONTS["inter"])
    font.flavor = None
    path = tmp_path_factory.mktemp("font") / "inter.ttf"
    font.save(path)
    return str(path)


def test_text_of_an_embedded_font_is_outlined(font_path: str) -> None:
    pdfmetrics.registerFont(TTFont("Inter", font_path))

    def draw(canvas: Canvas) -> None:
        canvas.setFont("Inter", 72)
        canvas.drawString(10, 50, "Qué")

    reading = read(page(draw))
    assert reading.kind == "vector"
    assert "text-left-out" not in codes(reading)
    font = FontFile(font_path)
    glyphs, letters = font.getGlyphSet(), font.getBestCmap()
    wanted = 0.0
    for letter in "Qué":
        pen = AreaPen(glyphs)
        glyphs[letters[ord(letter)]].draw(pen)
        wanted += abs(pen.value)
    assert area(reading) == pytest.approx(wanted * (72 / font["head"].unitsPerEm) ** 2, rel=0.01)


def test_text_without_its_font_is_said_and_left_out() -> None:
    def draw(canvas: Canvas) -> None:
        disc(canvas)
        canvas.setFont("Helvetica", 40)
        canvas.drawString(10, 20, "Quillfern")

    reading = read(page(draw))
    assert "text-left-out" in codes(reading)
    assert area(reading) == pytest.approx(math.pi * 2500, rel=1e-3)


def test_invisible_text_is_nothing() -> None:
    content = "BT /F 40 Tf 3 Tr 10 20 Td (Quillfern) Tj ET 10 10 20 20 re f"
    reading = read(raw(content, "<</Type/Font/Subtype/Type1/BaseFont/Helvetica>>", "/Font<</F 5 0 R>>"))
    assert codes(reading) == set()
    assert area(reading) == pytest.approx(400)


def test_a_scan_in_a_pdf_is_traced() -> None:
    def draw(canvas: Canvas) -> None:
        canvas.drawImage(ImageReader(Image.fromarray(emblem(900))), 0, 0, 240, 240)

    reading = read(page(draw, (240, 240)))
    assert reading.kind == "traced"
    assert "read-as-picture" in codes(reading)
    outline = reading.outline
    assert outline.stated_mm is not None
    assert outline.size[0] * outline.stated_mm == pytest.approx(0.8 * 240 * 25.4 / 72, rel=0.02)
    small = emblem_truth(3000)
    assert overlap(outline, small) > 0.97


def test_a_gradient_is_traced_with_a_remark() -> None:
    def draw(canvas: Canvas) -> None:
        canvas.linearGradient(50, 50, 250, 150, ((0, 0, 0), (1, 1, 1)), extend=False)

    reading = read(page(draw))
    assert reading.kind == "traced"
    assert "read-as-picture" in codes(reading)


def test_an_empty_page_is_refused() -> None:
    assert refused(page(lambda canvas: canvas.showPage())).code == "nothing-drawn"


def test_a_locked_file_is_refused_with_a_cure() -> None:
    from reportlab.lib.pdfencrypt import StandardEncryption

    data = page(disc, encrypt=StandardEncryption("secret", "owner"))
    assert refused(data).code == "locked-pdf"


@pytest.mark.parametrize("share", [0.05, 0.3, 0.6])
def test_a_cut_file_is_refused_or_read_as_far_as_it_goes(share: float) -> None:
    data = page(disc)
    cut = data[: int(len(data) * share)]
    assert refused(cut).code in ("damaged-pdf", "nothing-drawn")


def test_limits_hold() -> None:
    many = raw("10 10 2 2 re f " * 300)
    assert refused(many, limits=Limits(elements=200)).code == "too-many-elements"
    assert refused(many, limits=Limits(commands=200)).code == "too-many-path-commands"
    assert refused(raw("[.001] 0 d 4 w 0 50 m 200 50 l S")).code == "too-many-path-commands"


def test_an_illustration_file_that_is_pdf_inside_is_read() -> None:
    reading = read(page(disc), "crest.ai")
    assert reading.format == "pdf"
    assert "named-otherwise" not in codes(reading)


def resourced(content: str, state: str) -> bytes:
    """A page with one graphics state, ``/G``."""
    return raw(content, f"<</Type/ExtGState{state}>>", "/ExtGState<</G 5 0 R>>")


def test_a_clip_by_either_rule_is_taken_by_that_rule() -> None:
    frame = "q 10 10 80 80 re 20 20 60 60 re {} n 0 0 200 100 re f Q"
    for rule, wanted in (("W", 6400), ("W*", 6400 - 3600)):
        reading = read(raw(frame.format(rule)))
        assert reading.kind == "vector"
        assert area(reading) == pytest.approx(wanted)


def test_what_blending_hides_is_not_carved() -> None:
    """White multiplied onto black leaves black: by its shapes alone the page would have a hole."""
    reading = read(resourced("0 g 10 10 80 80 re f /G gs 1 g 30 30 20 20 re f", "/BM/Multiply"))
    assert reading.kind == "traced"
    assert "read-as-picture" in codes(reading)
    scale = (reading.outline.stated_mm or 0) / (25.4 / 72)
    assert area(reading) * scale**2 == pytest.approx(6400, rel=0.01)


def test_blending_that_changes_nothing_stays_vector() -> None:
    reading = read(resourced("0 g 10 10 80 80 re f /G gs 1 g 30 30 20 20 re f", "/BM/Screen"))
    assert reading.kind == "vector"
    assert area(reading) == pytest.approx(6400 - 400)


def test_hidden_layers_and_soft_masks_are_not_carved() -> None:
    """Layers made by hand (ISO 32000-1 §8.11); the mask (§11.6.5) shows the left half only."""
    hidden = layered("/OC/A BDC 10 10 80 80 re f EMC 120 20 60 60 re f", off=True)
    shown = layered("/OC/A BDC 10 10 80 80 re f EMC 120 20 60 60 re f", off=False)
    assert points_of(read(shown)) == pytest.approx(6400 + 3600, rel=0.01)
    reading = read(hidden)
    assert "read-as-picture" in codes(reading)
    assert points_of(reading) == pytest.approx(3600, rel=0.01)
    masked = soft_masked("/G gs 20 20 100 60 re f")
    assert points_of(read(masked)) == pytest.approx(30 * 60, rel=0.01)


def points_of(reading: Any) -> float:
    """Carved area in square points."""
    return area(reading) * ((reading.outline.stated_mm or 0) / (25.4 / 72)) ** 2


def layered(content: str, off: bool) -> bytes:
    state = "/OFF[5 0 R]" if off else "/ON[5 0 R]"
    layers = f"/OCProperties<</OCGs[5 0 R]/D<<{state}>>>>"
    return raw(content, "<</Type/OCG/Name(one)>>", "/Properties<</A 5 0 R>>", catalog_entries=layers)


def soft_masked(content: str) -> bytes:
    group = "<</Type/XObject/Subtype/Form/BBox[0 0 200 100]/Group<</S/Transparency/CS/DeviceGray>>"
    mask = f"{group}/Length 22>>stream\n1 g 0 0 50 100 re f   \nendstream"
    state = "/ExtGState<</G<</Type/ExtGState/SMask<</S/Luminosity/G 5 0 R>>>>>>"
    return raw(content, mask, state)


def test_text_without_its_font_is_not_drawn_in_another_one_either() -> None:
    font = "<</Type/Font/Subtype/Type1/BaseFont/Helvetica>>"
    gradient = (
        "/Shading<</S<</ShadingType 2/ColorSpace/DeviceGray/Coords[0 0 200 0]/Function<</FunctionType 2"
    )
    gradient += "/Domain[0 1]/C0[0]/C1[0.2]/N 1>>>>>>"
    content = "BT /F 40 Tf 10 60 Td (Quillfern) Tj ET q 10 10 80 20 re W n /S sh Q"
    reading = read(raw(content, font, f"/Font<</F 5 0 R>>{gradient}"))
    assert {"text-left-out", "read-as-picture"} <= codes(reading)
    assert points_of(reading) == pytest.approx(1600, rel=0.02)
