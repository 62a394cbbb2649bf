"""Files for the guide's table of formats: drawings, and what is refused. Row → its files."""

# ruff: noqa: E501 - a drawing reads best on one line

from __future__ import annotations

import base64
import gzip
import io
from typing import Any

import numpy as np
from PIL import Image
from reportlab.lib.pdfencrypt import StandardEncryption
from reportlab.lib.utils import ImageReader
from reportlab.pdfbase import pdfmetrics
from reportlab.pdfbase.ttfonts import TTFont
from reportlab.pdfgen.canvas import Canvas

from tests.artwork.intake import test_foreign as foreign
from tests.artwork.intake import test_inside as inside
from tests.artwork.intake import test_office as office
from tests.artwork.intake import test_page_parts as parts
from tests.artwork.intake import test_pdf as pdf
from tests.artwork.intake.made import Sent, dxf, emblem, encoded, new_dxf, svg
from tests.artwork.intake.metafiles import emf, wmf
from tests.artwork.intake.table_pictures import Files
from tests.artwork.intake.test_dxf import drawn, patterned
from tests.artwork.intake.test_svg_text import face, plain

RECT = '<rect x="10" y="20" width="40" height="30"/>'
STOPS = '<linearGradient id="g"><stop stop-color="#000"/><stop offset="1" stop-color="{}"/></linearGradient>'
FILLED = '<rect x="10" y="10" width="80" height="40" fill="url(#g)"/>'
DOT = '<marker id="m" markerWidth="6" markerHeight="6"><circle cx="3" cy="3" r="{}"/></marker>'
LINE = '<path d="M20 50h60" stroke="#000" stroke-width="4" marker-end="url(#m)"/>'
MM = 'width="50mm" height="50mm" viewBox="0 0 100 100"'
FORM = "10 10 60 20 re f"


def svgs(*bodies: str) -> Files:
    return lambda: [Sent(svg(body)) for body in bodies]


def pages(*draws: Any) -> Files:
    return lambda: [Sent(pdf.page(draw)) for draw in draws]


def raws(*contents: str) -> Files:
    return lambda: [Sent(pdf.raw(content)) for content in contents]


def spaces(*draws: Any) -> Files:
    return lambda: [Sent(drawn(draw)) for draw in draws]


def picture_in_svg() -> str:
    data = base64.b64encode(encoded(Image.fromarray(np.array([[0, 255]], np.uint8)), "PNG")).decode()
    return f'<image width="80" height="40" x="10" y="10" preserveAspectRatio="none" href="data:image/png;base64,{data}"/>'


def lettered(canvas: Canvas) -> None:
    pdfmetrics.registerFont(TTFont("Inter", io.BytesIO(plain())))
    canvas.setFont("Inter", 72)
    canvas.drawString(10, 50, "Que")


def drawn_letters() -> bytes:
    """A Type 3 font (ISO 32000-1 §9.6.5): its letters are little pages, not outlines."""
    font = (
        "<</Type/Font/Subtype/Type3/FontBBox[0 0 9 9]/FontMatrix[.1 0 0 .1 0 0]/CharProcs<</a 6 0 R>>/FirstChar 97"
        "/LastChar 97/Widths[9]/Encoding<</Type/Encoding/Differences[97/a]>>/Resources<<>>>>"
    )
    letter = "<</Length 28>>stream\n9 0 0 0 9 9 d1 0 0 9 9 re f \nendstream"
    return pdf.raw("BT /F 40 Tf 20 20 Td (aa) Tj ET", (font, letter), "/Font<</F 5 0 R>>")


def without_font(canvas: Canvas) -> None:
    pdf.disc(canvas)
    canvas.setFont("Helvetica", 40)
    canvas.drawString(10, 20, "Quillfern")


def two_pages(canvas: Canvas) -> None:
    pdf.disc(canvas)
    canvas.showPage()
    pdf.disc(canvas)


def in_a_form(canvas: Canvas) -> None:
    canvas.beginForm("f")
    canvas.rect(10, 10, 30, 20, stroke=0, fill=1)
    canvas.endForm()
    canvas.doForm("f")


def scanned(canvas: Canvas) -> None:
    canvas.drawImage(ImageReader(Image.fromarray(emblem(900))), 0, 0, 200, 200)


def shaded(canvas: Canvas) -> None:
    canvas.linearGradient(50, 50, 250, 150, ((0, 0, 0), (1, 1, 1)), extend=False)


def hatched(space: Any) -> None:
    path = space.add_hatch(color=2).paths.add_edge_path()
    path.add_line((0, 0), (40, 0))
    path.add_arc((40, 10), 10, 270, 90)
    path.add_line((40, 20), (0, 20))
    path.add_line((0, 20), (0, 0))


def gappy(space: Any) -> None:
    space.add_line((0, 0), (100, 0))
    space.add_line((100.05, 0), (100, 80))
    space.add_line((100, 80), (0, 0.04))


def open_ended(space: Any) -> None:
    space.add_circle((0, 0), 50)
    space.add_line((100, 0), (150, 20))


def texted(space: Any) -> None:
    space.add_circle((0, 0), 10)
    space.add_text("Quillfern")


def in_blocks() -> bytes:
    document, space = new_dxf()
    document.layers.add("OFF").off()
    document.layers.add("COLD").freeze()
    leaf = document.blocks.new("LEAF")
    leaf.add_lwpolyline([(0, 0, 1), (10, 0, 0)], format="xyb", close=True)
    space.add_blockref("LEAF", (50, 0), dxfattribs={"xscale": -2, "yscale": 2})
    space.add_circle((30, 0), 10, dxfattribs={"extrusion": (0, 0, -1)})
    for layer in ("OFF", "COLD"):
        space.add_circle((500, 0), 10, dxfattribs={"layer": layer})
    return dxf(document)


DRAWINGS: dict[str, Files] = {
    "SVG: shapes, paths, arcs, groups, `use`, `symbol`, nested views, `switch`": svgs(
        '<circle cx="20" cy="20" r="9"/><path d="M40 40a9 9 0 0 1 18 0z"/><symbol id="s" viewBox="0 0 10 10"><rect width="10" height="10"/></symbol><g><use href="#s" x="70" width="9" height="9"/></g>',
        '<svg x="10" y="10" width="50" height="50" viewBox="0 0 5 5"><rect width="9" height="9"/></svg>',
        '<switch><foreignObject/><rect width="9" height="9"/></switch>',
    ),
    "SVG: CSS classes, `style`, `!important`, inheritance": svgs(
        '<style>.a{fill:none} rect.b{fill:#000!important}</style><g fill="#060"><rect class="a b" width="9" height="9"/><rect x="50" width="9" height="9" style="fill-opacity:.9"/></g>'
    ),
    "SVG: colours in lab, lch, oklab, oklch, hwb, display-p3 and other spaces, `color-mix()`": svgs(
        *(f'<rect width="9" height="9" fill="{colour}"/>' for colour in (
            "lab(40% 20 30)", "lch(40% 30 40)", "oklab(50% .1 .1)", "oklch(50% .1 40)", "hwb(120 0% 60%)",
            "color(display-p3 0.2 0.4 0.1)", "color-mix(in oklab, black, navy)",
        ))
    ),
    "SVG: a printer's colour with one for screens: `#c00 icc-color(…)`, `#c00 device-cmyk(…)`, `device-cmyk(…, #c00)`": svgs(
        *(
            f'<rect width="9" height="9" fill="{colour}"/>'
            for colour in ("#c00 icc-color(press, 0.1, 1, 1, 0)", "#c00 device-cmyk(0 1 1 0)", "device-cmyk(0 1 1 0, #c00)", "device-cmyk(0 1 1 0)")
        )
    ),
    "SVG: `currentColor`, also in mixtures; CSS variables and their fallbacks": svgs(
        '<g color="#00c"><rect width="9" height="9" fill="color-mix(in srgb, currentColor, currentColor)"/></g>',
        '<g style="--b:#00c"><rect width="9" height="9" fill="var(--b)"/><rect x="50" width="9" height="9" fill="var(--no, #060)"/></g>',
        '<rect width="9" height="9" fill="var(--theme)"/>',
    ),
    "SVG: strokes, caps, joins, dashes, stretched pens": svgs(
        '<path d="M20 20h40v40" fill="none" stroke="#000" stroke-width="4" stroke-linejoin="round" stroke-linecap="round" stroke-dasharray="9 7"/>',
        '<g transform="scale(4 1)"><path d="M5 50h10" stroke="#000" stroke-width="2" fill="none"/></g>',
    ),
    "SVG: clip paths, fill rules, white on top": svgs(
        f'<clipPath id="c"><circle cx="50" cy="50" r="20"/></clipPath><rect width="99" height="99" clip-path="url(#c)"/>{RECT}<rect x="20" y="30" width="9" height="9" fill="#fff"/>',
        '<path d="M10 10h60v60h-60zM20 20h40v40h-40z" fill-rule="evenodd"/>',
    ),
    "SVG: masks": svgs(
        '<mask id="m"><rect width="100" height="100" fill="#fff"/><circle cx="30" cy="30" r="10"/></mask><rect x="10" y="10" width="40" height="40" mask="url(#m)"/>'
    ),
    "SVG: gradient that stays art": svgs(STOPS.format("#060") + FILLED),
    "SVG: gradient from art to ground, pattern, embedded picture": svgs(
        STOPS.format("#fff") + FILLED,
        '<pattern id="g" width="20" height="20" patternUnits="userSpaceOnUse"><rect width="10" height="20"/></pattern>' + FILLED,
        picture_in_svg(),
    ),
    "SVG: text, its font in the file, also placed or turned letter by letter": svgs(
        face(plain()) + '<text x="10" y="80" font-family="Inter" font-size="50">H</text>',
        face(plain()) + '<text x="10 30 60" y="80" rotate="10" font-family="Inter" font-size="20">Fer</text>'
    ),
    "SVG, PDF, DXF: text, its font not in the file": lambda: [
        Sent(svg(RECT + '<text x="1" y="9">Quillfern</text>')),
        Sent(pdf.page(without_font)),
        Sent(drawn(texted)),
    ],
    "SVG: filters, foreign content": svgs(
        f'<filter id="f"/><g filter="url(#f)">{RECT}</g>', f'{RECT}<foreignObject><p xmlns="x">hi</p></foreignObject>'
    ),
    "SVG: line markers": svgs(f"<defs>{DOT.format(0.2)}</defs>{LINE}", f"<defs>{DOT.format(3)}</defs>{LINE}"),
    "SVG: blend modes, and whatever else resvg draws otherwise than was read": svgs(
        '<rect width="80" height="80"/><rect x="20" y="20" width="40" height="40" fill="#fff" style="mix-blend-mode:multiply"/>'
    ),
    "SVG: size in mm, cm, in, pt, pc": lambda: [
        Sent(svg(RECT, f'width="50{unit}" height="50{unit}" viewBox="0 0 100 100"')) for unit in ("mm", "cm", "in", "pt", "pc")
    ],
    "SVG, PDF: art over the edge of the page, or beside it": lambda: [
        Sent(svg('<circle cx="0" cy="50" r="20"/><rect x="400" width="9" height="9"/>')), *raws("150 20 100 20 re f")(),
    ],
    "SVG: damaged path": svgs('<path d="M10 10h20v20h-20zL oops"/>'),
    "SVG: script or event handler; entities": lambda: [
        *svgs(RECT + "<script>go()</script>", '<rect width="9" height="9" onclick="go()"/>')(),
        Sent(b'<!DOCTYPE svg [<!ENTITY a "b">]>' + svg("<text>&a;</text>")),
    ],
    "SVG, DXF: reference to another file or host": svgs(
        RECT + '<image href="http://example.org/a.png" width="9" height="9"/>', RECT + '<use href="other.svg#a"/>'
    ),
    "PDF, AI with PDF inside: paths, strokes, clips, forms, turned pages": lambda: [
        Sent(pdf.page(in_a_form)), Sent(pdf.page(pdf.disc), "crest.ai"), Sent(pdf.raw(FORM, page_entries="/Rotate 90")),
        *raws("10 w 1 J 20 50 m 120 50 l S", "q 0 0 50 99 re W n 20 20 60 20 re f Q")(),
    ],
    "PDF: text of an embedded font": lambda: [Sent(pdf.page(lettered)), Sent(drawn_letters())],
    "PDF, any picture: a letter: running text and a logo": lambda: [
        Sent(parts.paper((120, 740, 40), lines=12)),
        Sent(parts.scanned(parts.paper((120, 740, 40), lines=12))),
    ],
    "PDF: several logos, far from each other": lambda: [Sent(parts.paper((120, 700, 60), (450, 600, 90)))],
    "PDF: several pages": lambda: [Sent(pdf.page(two_pages)), Sent(pdf.page(two_pages), wishes={"page": 1})],
    "PDF: clips by either rule": raws(*(f"q 10 10 80 80 re 20 20 60 60 re {rule} n 0 0 200 99 re f Q" for rule in ("W", "W*"))),
    "PDF: blend modes, soft masks, hidden layers, and whatever else pdfium draws otherwise than was read": lambda: [
        Sent(pdf.resourced("0 g 10 10 80 80 re f /G gs 1 g 30 30 20 20 re f", "/BM/Multiply")),
        Sent(pdf.layered("/OC/A BDC 10 10 80 80 re f EMC 120 20 60 60 re f", off=True)),
        Sent(pdf.soft_masked("/G gs 20 20 100 60 re f")),
    ],
    "PDF: picture, gradient, pattern on the page": pages(scanned, shaded),
    "PDF: lines of no width": raws("0 w 20 50 m 120 50 l S"),
    "PDF: password": lambda: [Sent(pdf.page(pdf.disc, encrypt=StandardEncryption("secret", "owner")))],
    "DXF: circles, arcs, ellipses, splines, polylines with bulges and width, hatches, solids": lambda: [
        *spaces(
            lambda m: m.add_circle((0, 0), 9), lambda m: (m.add_arc((0, 0), 10, 0, 180), m.add_line((-10, 0), (10, 0))),
            lambda m: m.add_ellipse((5, 5), (30, 10), 0.4), lambda m: m.add_spline([(0, 0), (9, 9), (20, 0), (9, -9), (0, 0)]),
            lambda m: m.add_lwpolyline([(0, 0, 1), (20, 0, 1)], format="xyb", close=True),
            lambda m: m.add_lwpolyline([(0, 0), (50, 0)], dxfattribs={"const_width": 4}),
            lambda m: m.add_solid([(0, 0), (20, 0), (0, 10), (20, 10)]), hatched,
        )(),
        Sent(drawn(lambda m: m.add_circle((0, 0), 9), binary=True)),
    ],
    "DXF: hatch with a pattern of lines": spaces(patterned),
    "DXF: loose lines": spaces(gappy),
    "DXF: ends that meet nothing": spaces(open_ended),
    "DXF: blocks, mirrored planes, layers off or frozen": lambda: [Sent(in_blocks())],
    "DXF: units in the header": lambda: [Sent(drawn(lambda m: m.add_circle((0, 0), 1), units)) for units in (1, 2, 4, 5, 6)],
    "DOCX, PPTX, XLSX, ODT, ODG, ODP: shapes drawn in the document: own outlines, presets, groups, colours of the theme": lambda: [
        Sent(office.slide(office.shape(office.PATH, (10, 10, 40, 20)))),
        Sent(office.slide(office.shape(office.preset("star5"), (10, 10, 40, 20)).replace("</p:sp>", "<p:t>Quillfern</p:t></p:sp>"))),
    ],
    "ZIP, DOCX, PPTX, XLSX, ODT, ODG, ODP, EML: pictures and drawings inside": lambda: [
        Sent(inside.packed({"logo.svg": inside.LOGO, "logo.png": inside.PICTURE})),
        Sent(inside.message(**{"logo.png": inside.PICTURE})),
        *(Sent(inside.packed({"[Content_Types].xml": b"", at: inside.PICTURE})) for at in inside.OFFICE.values()),
    ],
    "SVGZ: a compressed drawing": lambda: [Sent(gzip.compress(inside.LOGO))],
    "EPS, PostScript: as programs write them: with a picture for the screen, without showpage, several pages; older illustration files that are PostScript": lambda: [
        Sent(data) for data in (foreign.EPS, foreign.HEAD + foreign.DISC, foreign.ON_SCREEN, foreign.TWO_PAGES)
    ],
    "EPS, PostScript: text whose font is not in the file": lambda: [Sent(foreign.TEXT)],
    "EPS, PostScript: a program that stops with an error": lambda: [Sent(foreign.HEAD + d + b"nonsense\n") for d in (foreign.DISC, b"")],
    "EMF, WMF: paths, polygons, brushes, pens": lambda: [Sent(data) for data in (emf(), wmf(), wmf(placeable=False))],
    "DWG, RAR, older office files, fonts, films, text, all else: any": lambda: [
        Sent(data) for data in (
            b"AC1032" + bytes(30), b"\xff\x0a" + bytes(30), b"Rar!" + bytes(30),
            b"\xd0\xcf\x11\xe0" + bytes(30), b"OTTO" + bytes(30), b"ID3" + bytes(30), b"hello",
        )
    ],
}  # fmt: skip
