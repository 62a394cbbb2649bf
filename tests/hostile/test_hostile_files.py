"""The worst files, one by one: each costs its sender one clear message.

Raster bombs, lying headers, entity and reference bombs, endless nesting, references outside, polyglots, wrong names,
loops in PDF and DXF, impossible numbers. What only a process limit can stop is in
``test_at_once.py``.
"""

# ruff: noqa: E501 - a case reads best on one line

from __future__ import annotations

import base64
import io
import struct
import zlib
from itertools import pairwise
from pathlib import Path

import ezdxf
import numpy as np
import pillow_heif
import pytest
from PIL import Image

from artwork.errors import EngineError
from artwork.intake import Limits
from tests.artwork.intake.made import (
    area,
    codes,
    dxf,
    emblem,
    emblem_truth,
    encoded,
    new_dxf,
    overlap,
    read,
    refused,
    svg,
)  # fmt: skip
from tests.artwork.intake.test_pdf import raw as pdf

RECT = '<rect x="10" y="20" width="40" height="30"/>'


# --- pictures


def png(width: int, height: int, body: bytes = b"", depth: int = 1, colour: int = 0) -> bytes:
    def chunk(kind: bytes, content: bytes) -> bytes:
        return (
            struct.pack(">I", len(content)) + kind + content + struct.pack(">I", zlib.crc32(kind + content))
        )

    head = struct.pack(">IIBBBBB", width, height, depth, colour, 0, 0, 0)
    return b"\x89PNG\r\n\x1a\n" + chunk(b"IHDR", head) + chunk(b"IDAT", body) + chunk(b"IEND", b"")


CLAIMS = {
    "png 30,000 square": png(30_000, 30_000),
    "png 2^31 wide": png(2**31 - 1, 1),
    "png thin and long": png(1, 60_000),
    "gif 65,535 square": b"GIF89a" + struct.pack("<HH", 65535, 65535) + b"\0\0\0" + b"," + bytes(8) + b"\0\x02\0;",
    "bmp 4 GB": b"BM" + struct.pack("<IHHI", 4_000_000_000, 0, 0, 54)
    + struct.pack("<IiiHHIIiiII", 40, 40_000, 40_000, 1, 24, 0, 0, 0, 0, 0, 0),
    "tiff 60,000 square": b"II*\0\x08\0\0\0" + struct.pack("<H", 5) + b"".join(
        struct.pack("<HHII", tag, 4, 1, value)
        for tag, value in ((256, 60_000), (257, 60_000), (258, 1), (273, 8), (279, 4_000_000_000))
    ) + bytes(4),
}  # fmt: skip


@pytest.mark.parametrize("name", CLAIMS)
def test_a_header_that_claims_too_much_is_refused_before_any_pixel(name: str) -> None:
    assert refused(CLAIMS[name]).code in ("image-too-large", "damaged-image")


def test_jpeg_and_webp_claims() -> None:
    jpeg = bytearray(encoded(emblem(64), "JPEG"))
    at = jpeg.index(b"\xff\xc0") + 5
    jpeg[at : at + 4] = struct.pack(">HH", 65500, 65500)
    assert refused(bytes(jpeg)).code == "image-too-large"
    webp = bytearray(encoded(Image.fromarray(emblem(64)).convert("RGB"), "WEBP", lossless=True))
    at = webp.index(b"VP8L") + 9
    bits = int.from_bytes(webp[at : at + 4], "little") | 0x0FFFFFFF
    webp[at : at + 4] = bits.to_bytes(4, "little")
    assert refused(bytes(webp)).code in ("image-too-large", "damaged-image")


@pytest.mark.parametrize("side", [4000, 6900])
def test_a_small_file_of_many_pixels_stays_within_its_limit(side: int) -> None:
    """A few kilobytes that unpack to tens of megapixels: taken within the limit, refused beyond it."""
    rows = (b"\0" + b"\xff" * (side // 8)) * (side // 2) + (b"\0" + b"\0" * (side // 8)) * (side - side // 2)
    bomb = png(side, side, zlib.compress(rows, 9))
    assert len(bomb) < 60_000
    assert refused(bomb, limits=Limits(pixels=side * side - 1)).code == "image-too-large"
    if side == 4000:
        assert area(read(bomb)) == pytest.approx(side * side / 2, rel=0.01)


def test_a_png_that_unpacks_to_more_than_its_header_says() -> None:
    bomb = png(100, 100, zlib.compress(b"\0" * 50_000_000, 9))
    assert refused(bomb).code in ("solid-picture", "blank-picture", "damaged-image")


def test_text_chunks_that_unpack_without_end_are_not_unpacked() -> None:
    body = zlib.compress(b"".join(b"\0" + row.tobytes() for row in emblem(64)))
    plain = png(64, 64, body, depth=8)
    note = b"comment\0\0" + zlib.compress(b"A" * 40_000_000, 9)
    chunk = struct.pack(">I", len(note)) + b"zTXt" + note + struct.pack(">I", zlib.crc32(b"zTXt" + note))
    bomb = plain[:33] + chunk + plain[33:]
    try:
        assert overlap(read(bomb).outline, emblem_truth(64)) > 0.9
    except AssertionError:
        raise
    except Exception as refusal:  # noqa: BLE001 - only a coded refusal will do
        assert getattr(refusal, "code", None) == "damaged-image"


def test_endless_frames_are_not_counted() -> None:
    gif = encoded(Image.fromarray(emblem(64)), "GIF")
    head, frame = gif[: gif.index(b",")], gif[gif.index(b",") : -1]
    endless = head + frame * 30_000  # no trailer: it never ends
    reading = read(endless)
    assert "first-frame" in codes(reading)
    assert overlap(reading.outline, emblem_truth(64)) > 0.9


def test_a_tiff_whose_pages_go_in_a_circle_is_read_once() -> None:
    tiff = bytearray(encoded(emblem(64), "TIFF"))
    first = int.from_bytes(tiff[4:8], "little")
    entries = int.from_bytes(tiff[first : first + 2], "little")
    at = first + 2 + 12 * entries
    tiff[at : at + 4] = tiff[4:8]  # the next page is this one
    assert overlap(read(bytes(tiff)).outline, emblem_truth(64)) > 0.9


def test_file_size_has_its_own_limit() -> None:
    assert refused(b"\x89PNG\r\n\x1a\n" + bytes(1000), limits=Limits(file_bytes=500)).code == "file-too-large"


# --- drawings


def test_entities_are_refused() -> None:
    levels = "".join(f'<!ENTITY e{i + 1} "{f"&e{i};" * 10}">' for i in range(9))
    bomb = f'<!DOCTYPE svg [<!ENTITY e0 "ha">{levels}]><svg xmlns="http://www.w3.org/2000/svg"><text>&e9;</text></svg>'
    assert refused(bomb.encode()).code == "svg-with-entities"
    outside = '<!DOCTYPE svg [<!ENTITY x SYSTEM "file:///etc/passwd">]><svg xmlns="http://www.w3.org/2000/svg">&x;</svg>'
    assert refused(outside.encode()).code == "svg-with-entities"


@pytest.mark.parametrize(
    "body",
    [
        "<script>alert(1)</script>", '<g onload="alert(1)"/>',
        '<s:script xmlns:s="http://www.w3.org/2000/svg">1</s:script>',
        '<rect width="9" height="9" ONCLICK="x()"/>',
    ],
)  # fmt: skip
def test_scripts_are_refused(body: str) -> None:
    assert refused(svg(RECT + body)).code == "svg-with-script"


def test_two_hundred_thousand_nested_elements_are_refused() -> None:
    assert refused(svg("<g>" * 200_000 + "</g>" * 200_000)).code == "nested-too-deep"


def test_too_many_elements_are_refused() -> None:
    assert refused(svg('<rect width="1" height="1"/>' * 50_000)).code == "too-many-elements"


def test_uses_of_uses_do_not_unfold_without_end() -> None:
    body = '<g id="u0"><rect width="1" height="1"/></g>' + "".join(
        f'<g id="u{i + 1}">' + f'<use href="#u{i}" x="1"/>' * 10 + "</g>" for i in range(12)
    )
    assert refused(svg(f'<defs>{body}</defs><use href="#u12"/>')).code == "too-many-elements"


@pytest.mark.parametrize(
    "body",
    [
        '<g id="a"><use href="#a"/></g>',
        '<g id="a"><use href="#b"/></g><g id="b"><use href="#a"/></g>',
        '<clipPath id="a"><use href="#r" clip-path="url(#a)"/></clipPath><rect id="r" width="9" height="9" clip-path="url(#a)"/>',
        '<mask id="m" mask="url(#m)"><rect width="9" height="9" mask="url(#m)"/></mask><rect width="9" height="9" mask="url(#m)"/>',
        '<linearGradient id="a" href="#b"/><linearGradient id="b" href="#a"/><rect width="9" height="9" fill="url(#a)"/>',
        '<pattern id="p" width="1" height="1"><rect width="9" height="9" fill="url(#p)"/></pattern><rect width="9" height="9" fill="url(#p)"/>',
    ],
)
def test_references_in_a_circle_end(body: str) -> None:
    try:
        read(svg(body + RECT))
    except Exception as refusal:  # noqa: BLE001 - only a coded refusal will do
        assert getattr(refusal, "code", "none") in ("blank-picture", "nothing-drawn", "solid-picture")


@pytest.mark.parametrize(
    "declared",
    [
        "--a:var(--a)",
        "--a:var(--b);--b:var(--a)",
        ";".join(f"--{a}:" + f"var(--{b})" * 30 for a, b in pairwise("abcdefghijk")) + ";--k:",
        "--a:" + "var(--z," * 200 + "red" + ")" * 200,
    ],
    ids=["itself", "circle", "unfolding", "nested"],
)
def test_variables_do_not_unfold_without_end(declared: str) -> None:
    reading = read(svg(f'<g style="{declared}"><rect width="9" height="9" fill="var(--a)"/></g>'))
    assert codes(reading) == {"colour-not-read"}
    assert reading.inks[0].colour == "#000000"


@pytest.mark.parametrize(
    "body",
    [
        f'<rect width="9" height="9" style="fill:{"f(" * 100_000}"/>',
        f'<rect width="9" height="9" style="--a:{"(" * 400};fill:var(--a)"/>',
        f"<style>{'g:not(' * 5000}</style>{RECT}",
        f"<style>@font-face{{src:{'[' * 5000}}}</style>{RECT}",
    ],
    ids=["value", "variable", "selector", "font"],
)
def test_styles_nested_without_end_are_passed_over_or_refused(body: str) -> None:
    try:
        assert read(svg(body)).kind == "vector"
    except EngineError as refusal:
        assert refusal.code == "nested-too-deep"


def test_commands_have_a_limit() -> None:
    assert refused(svg(f'<path d="M0 0{"h1" * 400_000}"/>')).code == "too-many-path-commands"
    dashes = '<path d="M0 0h100" stroke="#000" stroke-dasharray=".0001"/>'
    assert refused(svg(dashes)).code == "too-many-path-commands"
    together = '<path d="M0 0h100" stroke="#000" stroke-dasharray=".01"/>' * 5
    assert refused(svg(together)).code == "too-many-path-commands"


def test_text_size_has_a_limit() -> None:
    assert refused(svg("<!-- " + "x" * 13_000_000 + " -->")).code == "drawing-too-large"


@pytest.mark.parametrize("number", ["nan", "1e308", "-1e308", "1e999", "99999999999999999999999"])
@pytest.mark.parametrize(
    "shape",
    [
        '<path d="M0 0L{0} 5 5 9z"/>', '<path d="M0 0a{0} 5 0 1 1 9 9z"/>', '<circle cx="{0}" cy="5" r="5"/>',
        '<rect width="{0}" height="5"/>', '<g transform="scale({0})"><rect width="9" height="9"/></g>',
        '<path d="M0 0h9" stroke="#000" stroke-width="{0}"/>', '<polygon points="0,0 {0},9 9,0"/>',
        '<svg viewBox="0 0 {0} 5" width="9"><rect width="9" height="9"/></svg>',
        '<rect width="9" height="9" transform="rotate({0})"/>',
        '<path d="M0 0h9v9" stroke="#000" stroke-miterlimit="{0}" stroke-dashoffset="{0}" stroke-dasharray="1"/>',
    ],
)  # fmt: skip
def test_impossible_numbers_are_refused_or_do_nothing(number: str, shape: str) -> None:
    try:
        reading = read(svg(RECT + shape.format(number)))
    except Exception as refusal:  # noqa: BLE001 - only a coded refusal will do
        assert getattr(refusal, "code", repr(refusal)) in (
            "coordinate-out-of-range", "nothing-drawn", "too-many-path-commands",
        )  # fmt: skip
    else:
        assert np.isfinite(reading.outline.bounds).all()
        assert area(reading) > 0


@pytest.mark.parametrize(
    "reference",
    ["file:///etc/passwd", "/etc/hostname", "http://192.0.2.1/x.png", "//192.0.2.1/x", "../../x.svg#a"],
)
def test_nothing_outside_is_read_or_fetched(reference: str, monkeypatch: pytest.MonkeyPatch) -> None:
    """No socket and no file is opened while such a drawing is read."""
    import builtins
    import socket

    drawing = svg(
        f'<style>@import url("{reference}");@font-face{{font-family:x;src:url({reference})}}'
        f'#z{{fill:url({reference}#p)}}</style>{RECT}<image href="{reference}" width="9" height="9"/>'
        f'<use href="{reference}"/><rect id="z" width="9" height="9"/><text font-family="x">x</text>'
        f'<linearGradient id="g" href="{reference}"/><a href="{reference}"><rect width="5" height="5" fill="url(#g)"/></a>'
    )
    read(drawing)  # loads what is loaded on first use

    def forbidden(*_arguments: object, **_named: object) -> None:
        raise AssertionError("something outside was reached for")

    monkeypatch.setattr(socket.socket, "connect", forbidden)
    monkeypatch.setattr(builtins, "open", forbidden)
    monkeypatch.setattr(io, "open", forbidden)
    monkeypatch.setattr(Path, "open", forbidden)
    assert "outside-reference" in codes(read(drawing))


def test_a_picture_drawn_for_an_svg_holds_nothing_from_outside(tmp_path: Path) -> None:
    """The stand-in picture goes through another renderer: it too gets no reference to a file."""
    secret = tmp_path / "secret.png"
    secret.write_bytes(encoded(np.zeros((50, 50), np.uint8), "PNG"))
    body = (
        '<pattern id="p" width="10" height="10" patternUnits="userSpaceOnUse"><rect width="5" height="10"/></pattern>'
        f'<rect width="30" height="30" fill="url(#p)"/><image href="{secret}" x="50" width="50" height="50"/>'
        f'<image href="file://{secret}" x="50" y="50" width="50" height="50"/>'
        '<image x="50" y="50" width="50" height="50" href="data:image/svg+xml,&lt;svg xmlns=&quot;http://www.w3.org/2000/svg&quot;/&gt;"/>'
    )
    reading = read(svg(body))
    assert reading.kind == "traced"
    _, _, right, _ = reading.outline.bounds
    assert right < 0.35 * 2000


def test_a_stylesheet_of_many_rules_is_cut_off() -> None:
    sheet = "".join(f".a{i} .b{i}{{fill:red}}" for i in range(8000))
    assert area(read(svg(f"<style>{sheet}</style>{RECT}"))) == pytest.approx(1200)


# --- polyglots and names


def test_a_file_is_what_its_first_bytes_say() -> None:
    picture = encoded(emblem(64), "GIF")
    both = picture + b"<script>alert(1)</script><svg xmlns='http://www.w3.org/2000/svg'><rect/></svg>"
    assert read(both, "art.svg").format == "gif"
    html = b"<!DOCTYPE html><html><body><svg xmlns='http://www.w3.org/2000/svg'></svg></body></html>"
    assert refused(html).code in ("damaged-svg", "page-not-read")


@pytest.mark.parametrize(
    ("data", "code"),
    [
        (b"", "empty-file"), (b"hello", "text-not-read"), (bytes(5000), "not-artwork"), (b"%!PS-Adobe-3.0 EPSF-3.0\n", "nothing-drawn"),
        (b"\xc5\xd0\xd3\xc6" + bytes(30), "nothing-drawn"), (b"PK\x03\x04" + bytes(30), "damaged-archive"),
        (b"\x1f\x8b\x08" + bytes(30), "damaged-archive"), (b"AC1032" + bytes(30), "dwg-not-read"),
        (b"\xd0\xcf\x11\xe0" + bytes(30), "old-office-not-read"), (b"MZ" + bytes(60), "not-artwork"), (b"\x7fELF" + bytes(60), "not-artwork"),
        (b"%PDF-1.7\n", "damaged-pdf"), (b"II*\0", "damaged-image"), (b"<svg ", "damaged-svg"), (b"<svg/>", "nothing-drawn"),
        (b"\xff\xd8\xff", "damaged-image"), (b"RIFF\0\0\0\0WEBP", "damaged-image"), (b"\0\0\0\x18ftypheic" + bytes(12), "damaged-image"),
        (b"\0\0\0\x18ftypmp42" + bytes(12), "film-not-read"), (b"  0\nSECTION\n  2\nENTITIES\n  0\nENDSEC\n", "damaged-dxf"),
    ],
)  # fmt: skip
def test_files_that_are_not_artwork(data: bytes, code: str) -> None:
    refusal = refused(data)
    assert refusal.code in (code, "nothing-drawn" if code == "damaged-dxf" else code)


@pytest.mark.parametrize(
    "name", ["../../../etc/passwd", "a\0b.png", "x" * 5000, "", ".", "CON", "a.PNG/../b", "\u202egnp.svg"]
)
def test_a_name_is_never_a_path(name: str) -> None:
    assert read(encoded(emblem(64), "PNG"), name).format == "png"


def test_metadata_never_leaves() -> None:
    """Place and owner in EXIF, text chunks and XMP are in no derived file."""
    exif = Image.Exif()
    exif[0x010E] = "SECRETPLACE"
    exif[0x8298] = "SECRETOWNER"
    exif.get_ifd(0x8825)[2] = (51.0, 30.0, 12.0)
    for kind, options in (
        ("JPEG", {"exif": exif.tobytes(), "comment": b"SECRETNOTE"}),
        ("PNG", {"exif": exif.tobytes()}),
    ):
        reading = read(encoded(emblem(64), kind, **options))
        assert b"SECRET" not in reading.picture
        shown = Image.open(io.BytesIO(reading.picture))
        assert not shown.getexif()
        assert set(shown.info) <= {"dpi"}


# --- PDF and DXF


def test_a_form_that_draws_itself_ends() -> None:
    form = "<</Type/XObject/Subtype/Form/BBox[0 0 9 9]/Resources<</XObject<</F 5 0 R>>>>/Length 20>>stream\n0 0 5 5 re f /F Do  \nendstream"
    data = pdf("/F Do 20 20 9 9 re f", form, "/XObject<</F 5 0 R>>")
    assert area(read(data)) >= 81


def test_a_page_tree_in_a_circle_ends() -> None:
    data = pdf("0 0 9 9 re f").replace(b"/Kids[3 0 R]", b"/Kids[2 0 R]")
    assert refused(data).code in ("damaged-pdf", "page-not-there")


def test_a_stream_that_unpacks_without_end_is_bounded() -> None:
    packed = zlib.compress(b"0 0 1 1 re f\n" * 300_000, 9)
    head = f"<</Length {len(packed)}/Filter/FlateDecode>>stream\n".encode()
    data = pdf("X").replace(b"<</Length 1>>stream\nX\nendstream", head + packed + b"\nendstream")
    assert len(data) < 300_000
    assert refused(data).code == "too-many-elements"


def test_pages_that_claim_impossible_sizes() -> None:
    for box in ("0 0 0 0", "0 0 1e30 1e30", "nan nan nan nan", "0 0 -5 -5"):
        data = pdf("0 0 9 9 re f").replace(b"0 0 200 100", box.encode().ljust(11))
        try:
            assert np.isfinite(read(data).outline.bounds).all()
        except Exception as refusal:  # noqa: BLE001 - only a coded refusal will do
            assert getattr(refusal, "code", repr(refusal)) in (
                "damaged-pdf",
                "nothing-drawn",
                "coordinate-out-of-range",
            )


def test_scripts_in_a_pdf_are_not_run() -> None:
    data = pdf("0 0 9 9 re f", "<</S/JavaScript/JS(app.alert(1))>>", page_entries="/AA<</O 5 0 R>>")
    assert area(read(data)) == pytest.approx(81)


def test_a_dxf_of_nonsense_group_codes_is_refused() -> None:
    assert refused(b"  0\nSECTION\n  2\nENTITIES\n" + b"99999999999\nx\n" * 2000).code in (
        "damaged-dxf",
        "nothing-drawn",
    )


def test_an_open_chain_of_many_lines_is_bounded() -> None:
    document, space = new_dxf()
    for i in range(3000):
        space.add_line((i, i % 2), (i + 0.4, (i + 1) % 2))
    refusal = refused(dxf(document), limits=Limits(elements=5000))
    assert refusal.code == "nothing-drawn"


def test_ezdxf_reads_no_other_file() -> None:
    document = ezdxf.new()
    document.add_xref_def("/etc/hostname", "outside")
    document.modelspace().add_blockref("outside", (0, 0))
    document.modelspace().add_circle((0, 0), 5)
    assert area(read(dxf(document))) == pytest.approx(np.pi * 25, rel=1e-4)


def test_blocks_that_hold_each_other_end() -> None:
    for pairs in ((("a", "a"),), (("a", "b"), ("b", "a"))):
        document, space = new_dxf()
        for name in {name for pair in pairs for name in pair}:
            document.blocks.new(name).add_circle((0, 0), 1)
        for outer, inner in pairs:
            document.blocks.get(outer).add_blockref(inner, (1, 0))
        space.add_blockref("a", (0, 0))
        assert refused(dxf(document)).code in ("nested-too-deep", "damaged-dxf")


def test_blocks_of_blocks_do_not_unfold_without_end() -> None:
    document, space = new_dxf()
    document.blocks.new("u0").add_circle((0, 0), 1)
    for level in range(1, 12):
        block = document.blocks.new(f"u{level}")
        for at in range(10):
            block.add_blockref(f"u{level - 1}", (at, 0))
    space.add_blockref("u11", (0, 0))
    assert refused(dxf(document)).code in ("too-many-elements", "nested-too-deep")


@pytest.mark.parametrize("number", ["nan", "inf", "1e308", "-1e308", "1e999"])
def test_impossible_numbers_in_dxf_and_pdf(number: str) -> None:
    document, space = new_dxf()
    space.add_circle((0, 0), 5)
    space.add_line((77.125, 0), (9, 9))
    spoilt = dxf(document).replace(b"77.125", number.encode())
    assert number.encode() in spoilt
    for data in (spoilt, pdf(f"0 0 9 9 re f {number} 0 m 9 9 l 0 9 l f")):
        try:
            assert np.isfinite(read(data).outline.bounds).all()
        except Exception as refusal:  # noqa: BLE001 - only a coded refusal will do
            assert getattr(refusal, "code", repr(refusal)) in (
                "damaged-dxf", "damaged-pdf", "coordinate-out-of-range", "nothing-drawn",
            )  # fmt: skip


@pytest.mark.parametrize("view", ["0 0 0 0", "0 0 -5 9", "0 0 9 0"])
def test_views_of_no_size_are_refused(view: str) -> None:
    assert refused(svg(RECT, f'viewBox="{view}"')).code == "zero-size-view"


@pytest.mark.parametrize("attributes", ['width="0" height="0"', 'viewBox="0 0 9"', 'viewBox="a"'])
def test_views_that_are_none_are_passed_over(attributes: str) -> None:
    reading = read(svg(RECT, attributes))
    assert area(reading) == pytest.approx(1200)
    assert reading.kind == "vector"


@pytest.mark.parametrize(
    ("kind", "options"),
    [
        ("GIF", {}), ("BMP", {}), ("TIFF", {"compression": "tiff_adobe_deflate"}), ("TIFF", {"compression": "group4"}),
        ("WEBP", {"lossless": True}), ("JPEG", {"quality": 5}), ("PNG", {}),
    ],
)  # fmt: skip
def test_few_bytes_of_many_pixels_are_bounded_in_every_format(kind: str, options: dict[str, object]) -> None:
    """One pixel over what is allowed is refused by its header, whatever it would unpack to."""
    two = kind in ("TIFF", "BMP", "PNG", "GIF")
    blank = Image.new("1" if two else "L", (3000, 3000), 1 if two else 255)
    data = encoded(blank.convert("RGB") if kind == "WEBP" else blank, kind, **options)
    assert refused(data, limits=Limits(pixels=3000 * 3000 - 1)).code == "image-too-large"
    assert refused(data).code == "blank-picture"


def _heic(image: Image.Image) -> bytes:
    stream = io.BytesIO()
    pillow_heif.from_pillow(image).save(stream, quality=5)
    return stream.getvalue()


def _claiming(data: bytes, side: int) -> bytes:
    """HEIC and AVIF: the picture's size in its ``ispe`` box (ISO/IEC 23008-12 §6.5.3)."""
    at = data.index(b"ispe") + 8
    return data[:at] + struct.pack(">II", side, side) + data[at + 8 :]


@pytest.mark.parametrize("kind", ["HEIC", "AVIF"])
def test_few_bytes_of_a_phone_picture_are_bounded(kind: str) -> None:
    blank = Image.new("RGB", (2000, 2000), "white")
    data = _heic(blank) if kind == "HEIC" else encoded(blank, "AVIF", quality=5, speed=10)
    assert len(data) < 8000
    assert refused(data, limits=Limits(pixels=2000 * 2000 - 1)).code == "image-too-large"
    assert refused(data).code == "blank-picture"
    # what is claimed decides, before any pixel, and less is claimed than there is to no avail
    assert refused(_claiming(data, 60_000)).code in ("image-too-large", "damaged-image")
    assert refused(_claiming(data, 16)).code in ("damaged-image", "blank-picture")


def test_a_jpeg_of_endless_passes_is_refused() -> None:
    """Each pass goes over all pixels: 150 kB would keep a core busy for twenty seconds."""
    jpeg = encoded(np.full((400, 400), 255, np.uint8), "JPEG", progressive=True)
    last = jpeg[jpeg.rindex(b"\xff\xda") : -2]
    assert refused(jpeg[:-2] + last * 200 + jpeg[-2:]).code == "too-many-scans"
    assert refused(jpeg[:-2] + last * 5 + jpeg[-2:]).code == "blank-picture"


def _rows(side: int) -> bytes:
    """Grey pixels, packed; a PNG's rows begin with a filter byte, which is one pixel more in a PDF."""
    packer = zlib.compressobj(9)
    return b"".join([*(packer.compress(bytes(1 + side)) for _ in range(side)), packer.flush()])


@pytest.mark.parametrize("way", ["once", "packed again and again"])
def test_a_picture_in_a_drawing_is_bounded_like_any_other(way: str) -> None:
    side = 12_000
    body = _rows(side)
    uri = base64.b64encode(png(side, side, body, depth=8)).decode()
    assert (
        refused(svg(f'<image width="9" height="9" href="data:image/png;base64,{uri}"/>')).code
        == "image-too-large"
    )
    hidden = f'<pattern id="p" width="9" height="9"><image width="9" height="9" href="data:image/png;base64,{uri}"/></pattern>'
    assert refused(svg(f'{hidden}<rect width="9" height="9" fill="url(#p)"/>')).code == "image-too-large"
    filters = "/FlateDecode"
    if way != "once":
        body, filters = zlib.compress(zlib.compress(body, 9), 9), filters * 3
    picture = (
        f"<</Type/XObject/Subtype/Image/Width {side + 1}/Height {side}/ColorSpace/DeviceGray/BitsPerComponent 8"
        f"/Filter[{filters}]/Length {len(body)}>>stream\n{body.decode('latin-1')}\nendstream"
    )
    data = pdf("q 100 0 0 100 0 0 cm /F Do Q", picture, "/XObject<</F 5 0 R>>")
    assert refused(data).code == "image-too-large"
    assert read(data, limits=Limits(pixels=side * (side + 1), side=side + 1)).kind == "traced"
