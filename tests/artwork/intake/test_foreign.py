"""PostScript and metafiles, which other programs turn into drawings first; those run here as the service runs them."""

from __future__ import annotations

import math
import struct

import pytest

from artwork.intake import read_artwork
from artwork.intake.foreign import Converted, ForeignError
from tests.artwork.intake.made import area, codes, read, refused, svg
from tests.artwork.intake.metafiles import TRUE_AREA, emf, wmf
from tests.artwork.intake.test_inside import PICTURE, packed

HEAD = b"%!PS-Adobe-3.0 EPSF-3.0\n%%BoundingBox: 10 10 110 110\n%%EndComments\n"
DISC = b"60 60 40 0 360 arc fill\n"
EPS = HEAD + DISC + b"showpage\n%%EOF\n"
ON_SCREEN = (
    b"\xc5\xd0\xd3\xc6" + struct.pack("<6IH", 30, len(EPS), 30 + len(EPS), 4, 0, 0, 0xFFFF) + EPS + b"TIFF"
)
TWO_PAGES = (
    b"%!PS\n100 100 50 0 360 arc fill showpage\n0 0 moveto 200 0 rlineto 0 100 rlineto fill showpage\n"
)
TEXT = HEAD + b"/Helvetica findfont 30 scalefont setfont 20 50 moveto (Quill) show\nshowpage\n"
MM_PER_POINT = 25.4 / 72


def test_postscript_is_read_as_curves_at_its_size():
    reading = read(EPS)
    assert (reading.format, reading.kind) == ("eps", "vector")
    assert area(reading) == pytest.approx(math.pi * 40**2, rel=1e-3)
    assert reading.outline.stated_mm == pytest.approx(MM_PER_POINT)
    assert not codes(reading)


@pytest.mark.parametrize(
    "data",
    [
        HEAD + DISC,  # no showpage
        EPS + b"\0\1 something else",
        b"\x04" + EPS,  # as printer drivers begin
        ON_SCREEN,
    ],
    ids=["no showpage", "more after its end", "control-D", "with a picture for the screen"],
)
def test_postscript_as_programs_write_it(data: bytes):
    assert area(read(data)) == pytest.approx(math.pi * 40**2, rel=1e-3)


def test_pages_of_postscript_are_pages():
    assert read(TWO_PAGES).pages == 2
    assert codes(read(TWO_PAGES)) == {"several-pages"}
    assert area(read(TWO_PAGES, page=1)) == pytest.approx(200 * 100 / 2, rel=1e-3)


def test_text_in_a_font_that_is_not_in_the_file_is_told():
    reading = read(TEXT)
    assert codes(reading) == {"text-in-another-font"}
    assert reading.remarks[0].severity == "warns"


def test_postscript_that_stops_with_an_error():
    assert codes(read(HEAD + DISC + b"nonsense\nshowpage\n")) == {"postscript-cut-short"}
    assert refused(HEAD + b"nonsense\nshowpage\n").code == "postscript-failed"


@pytest.mark.parametrize(("data", "kind"), [(emf(), "emf"), (wmf(), "wmf"), (wmf(placeable=False), "wmf")])
def test_a_metafile_is_read_as_curves(data: bytes, kind: str):
    reading = read(data)
    assert (reading.format, reading.kind) == (kind, "vector")
    scale = max(reading.outline.size) / 800
    assert area(reading) / scale**2 == pytest.approx(TRUE_AREA, rel=5e-3)  # points of whole units


def test_of_a_pack_its_postscript_is_read_before_its_picture_and_after_its_drawing():
    pack = packed({"logo.eps": EPS, "logo.png": PICTURE})
    assert read(pack).format == "eps"
    with_drawing = packed({"logo.eps": EPS, "logo.svg": svg('<circle cx="50" cy="50" r="30"/>')})
    reading = read(with_drawing)
    assert reading.format == "svg"
    assert [choice.words for choice in reading.choices] == ["logo.svg", "logo.eps"]
    assert read(with_drawing, piece=1).format == "eps"


def test_what_nobody_converts_is_refused_with_what_to_do():
    with pytest.raises(ForeignError) as asked:
        read_artwork(EPS, "logo.eps")
    assert asked.value.code == "eps-not-read"
    assert "PDF" in asked.value.cure
    nothing = {part.digest: Converted("") for part in asked.value.parts}
    with pytest.raises(Exception, match="no drawing could be made") as refusal:
        read_artwork(EPS, "logo.eps", drawings=nothing)
    assert not isinstance(refusal.value, ForeignError)
