"""Small sound files of every format, as full of features as they can be, for damaging."""

from __future__ import annotations

import base64
import gzip
import io
import zipfile
from functools import cache

import numpy as np
from PIL import Image
from reportlab.pdfgen.canvas import Canvas

from tests.artwork.intake.made import dxf, emblem, encoded, new_dxf, svg
from tests.artwork.intake.metafiles import emf, wmf
from tests.artwork.intake.test_inside import further, message, packed

SIDE = 96


@cache
def seeds() -> dict[str, bytes]:
    """Bytes by a name that begins with the format."""
    grey = Image.fromarray(emblem(SIDE))
    colour = grey.convert("RGB")
    clear = colour.convert("RGBA")
    clear.putalpha(Image.fromarray(255 - emblem(SIDE)))
    exif = Image.Exif()
    exif[0x0112] = 6
    files = {
        "png grey": encoded(grey, "PNG"),
        "png clear": encoded(clear, "PNG"),
        "png palette": encoded(colour.quantize(16), "PNG", transparency=0),
        "png 16": encoded(Image.fromarray(emblem(SIDE).astype(np.uint16) * 257), "PNG"),
        "apng": encoded(colour, "PNG", save_all=True, append_images=[colour.rotate(90)]),
        "jpeg": encoded(colour, "JPEG", exif=exif.tobytes()),
        "jpeg progressive": encoded(grey, "JPEG", progressive=True),
        "jpeg cmyk": encoded(colour.convert("CMYK"), "JPEG"),
        "webp": encoded(colour, "WEBP"),
        "webp clear": encoded(clear, "WEBP", lossless=True),
        "tiff g4": encoded(grey.convert("1"), "TIFF", compression="group4"),
        "tiff lzw": encoded(colour, "TIFF", compression="tiff_lzw"),
        "tiff jpeg": encoded(colour, "TIFF", compression="jpeg"),
        "gif": encoded(colour, "GIF", save_all=True, append_images=[colour.rotate(90)]),
        "bmp": encoded(colour, "BMP"),
        "avif": encoded(colour, "AVIF"),
        "heic": _heic(colour),
        "svg": svg(_SVG),
        "svg picture": svg(
            '<image width="100" height="100" href="data:image/png;base64,'
            f'{base64.b64encode(encoded(grey, "PNG")).decode()}"/>'
        ),
        "pdf": _pdf(colour, pictures=False),
        "pdf plain": _pdf(colour, pictures=False, packed=False),
        "pdf picture": _pdf(colour, pictures=True),
        "dxf": _dxf(),
        "dxf binary": _dxf(binary=True),
        "eps": _EPS,
        "emf": emf(),
        "wmf": wmf(),
        "jp2": encoded(colour, "JPEG2000"),
        "ico": encoded(clear, "ICO"),
        **{kind.lower(): further(kind) for kind in ("PCX", "PPM", "TGA", "PSD", "JXL")},
        "svgz": gzip.compress(svg(_SVG)),
        "zip": packed({"logo.svg": svg(_SVG), "logo.eps": _EPS, "logo.png": encoded(grey, "PNG")}),
        "zip stored": packed({"word/media/image1.png": encoded(grey, "PNG")}, zipfile.ZIP_STORED),
        "zip slide": packed({"ppt/slides/slide1.xml": _SLIDE}, zipfile.ZIP_STORED),
        "zip page": packed({"content.xml": _PAGE}, zipfile.ZIP_STORED),
        "eml": message(**{"logo.svg": svg(_SVG), "logo.png": encoded(grey, "PNG")}),
    }
    return {name: data for name, data in files.items() if data}


_EPS = b"""%!PS-Adobe-3.0 EPSF-3.0
%%BoundingBox: 0 0 100 100
/leaf { newpath moveto 10 20 30 20 40 0 rcurveto -10 -20 -30 -20 -40 0 rcurveto closepath } bind def
0.1 0.3 0.1 setrgbcolor 10 50 leaf fill gsave 50 50 translate 30 rotate 0 0 leaf 2 setlinewidth stroke grestore
0 1 3 { 20 mul 10 add 20 leaf clip newpath 50 20 25 0 360 arc eofill } for
/Helvetica findfont 12 scalefont setfont 5 5 moveto (Quillfern) show showpage
%%EOF
"""
_SLIDE = b"""<p:sld xmlns:p="p" xmlns:a="http://schemas.openxmlformats.org/drawingml/2006/main"><p:grpSp><p:grpSpPr>
<a:xfrm rot="1800000"><a:off x="0" y="0"/><a:ext cx="900000" cy="900000"/><a:chOff x="0" y="0"/><a:chExt cx="450000"
cy="900000"/></a:xfrm></p:grpSpPr><p:sp><p:spPr><a:xfrm flipH="1"><a:off x="9000" y="9000"/><a:ext cx="360000"
cy="720000"/></a:xfrm><a:custGeom><a:pathLst><a:path w="100" h="100"><a:moveTo><a:pt x="100" y="50"/></a:moveTo>
<a:arcTo wR="50" hR="40" stAng="0" swAng="9000000"/><a:cubicBezTo><a:pt x="9" y="9"/><a:pt x="20" y="0"/><a:pt x="r"
y="b"/></a:cubicBezTo><a:close/></a:path></a:pathLst></a:custGeom><a:solidFill>
<a:schemeClr val="accent1"/></a:solidFill>
<a:ln w="12700"><a:solidFill><a:srgbClr val="204060"/></a:solidFill></a:ln></p:spPr></p:sp><p:sp><p:spPr><a:xfrm><a:off
x="0" y="0"/><a:ext cx="90000" cy="90000"/></a:xfrm><a:prstGeom prst="roundRect"><a:avLst><a:gd name="adj"
fmla="val 20000"/></a:avLst></a:prstGeom></p:spPr><p:style><a:fillRef idx="1"><a:sysClr lastClr="102030"/></a:fillRef>
</p:style></p:sp></p:grpSp></p:sld>"""
_PAGE = b"""<o xmlns:draw="urn:oasis:names:tc:opendocument:xmlns:drawing:1.0"
xmlns:svg="urn:oasis:names:tc:opendocument:xmlns:svg-compatible:1.0"><draw:circle svg:x="2cm" svg:y="2cm"
svg:width="4cm" svg:height="4cm"/><draw:path svg:width="20mm" svg:height="20mm" svg:viewBox="0 0 200 200"
svg:d="M0 0c90 9 9 90 200 200z"
draw:transform="rotate (0.5) skewX (0.1) scale (2 1) translate (8cm 10cm)"/><draw:polygon svg:width="4cm"
svg:height="2cm" svg:viewBox="0 0 400 200" draw:points="200,0 400,200 0,200"/><draw:custom-shape svg:width="1in"
svg:height="9pt"><draw:enhanced-geometry draw:type="isosceles-triangle"/></draw:custom-shape></o>"""
_SVG = """
<style>.a{fill:#123;stroke:red;stroke-width:2} #r{opacity:.8} g > path{fill-rule:evenodd}</style>
<defs><clipPath id="c"><circle cx="50" cy="50" r="40"/></clipPath><rect id="q" width="9" height="5" rx="2"/>
<linearGradient id="l"><stop stop-color="#000"/><stop offset=".5" stop-color="#030"/></linearGradient>
<mask id="m"><rect width="100" height="100" fill="#fff"/><circle r="20"/></mask></defs>
<g clip-path="url(#c)" transform="rotate(10 50 50) scale(.9)"><path d="M10 10C20 0 30 0 40 10S60 20 70 10t9 9
a20 30 15 1 0 -20 40q5 5 9-9h-9v9z" class="a"/></g><use href="#q" x="10" y="80" fill="url(#l)"/>
<ellipse cx="70%" cy="30" rx="10" ry="5" mask="url(#m)"/><polyline points="1,1 5,9 9,1" stroke="#000"
stroke-dasharray="3 1" stroke-linecap="round" fill="none"/>
<svg x="60" y="60" width="30" height="30" viewBox="0 0 3 3"
preserveAspectRatio="none"><polygon points="0,0 3,0 3,3"/></svg>
<text x="5" y="5">left out</text>
"""


def _heic(image: Image.Image) -> bytes:
    import pillow_heif

    stream = io.BytesIO()
    pillow_heif.from_pillow(image).save(stream, quality=50)
    return stream.getvalue()


def _pdf(image: Image.Image, pictures: bool, packed: bool = True) -> bytes:
    stream = io.BytesIO()
    canvas = Canvas(stream, pagesize=(200, 200), invariant=True, pageCompression=int(packed))
    canvas.beginForm("leaf")
    canvas.ellipse(0, 0, 40, 20, stroke=1, fill=1)
    canvas.endForm()
    canvas.circle(100, 100, 50, fill=1)
    canvas.setFillColorRGB(1, 1, 1)
    canvas.circle(100, 100, 20, fill=1, stroke=0)
    canvas.setDash(6, 3)
    canvas.setLineWidth(3)
    canvas.line(10, 10, 190, 20)
    canvas.translate(20, 150)
    canvas.doForm("leaf")
    canvas.drawString(0, 0, "Quillfern")
    if pictures:
        canvas.drawInlineImage(image, 50, 0, 50, 50)
    canvas.showPage()
    canvas.rect(10, 10, 50, 50, fill=1)
    canvas.save()
    return stream.getvalue()


def _dxf(binary: bool = False) -> bytes:
    document, space = new_dxf()
    block = document.blocks.new("LEAF")
    block.add_lwpolyline([(0, 0, 1), (10, 0, 0.3), (5, 9, 0)], format="xyb", close=True)
    space.add_blockref("LEAF", (20, 20), dxfattribs={"xscale": -2, "rotation": 30, "column_count": 2})
    space.add_circle((0, 0), 10)
    space.add_line((50, 0), (90, 0))
    space.add_arc((70, 0), 20, 0, 180)
    space.add_ellipse((0, 60), (20, 5), 0.5)
    space.add_spline([(0, 100), (30, 120), (60, 100), (30, 80), (0, 100)])
    hatch = space.add_hatch(color=3)
    hatch.paths.add_polyline_path([(100, 100), (150, 100), (125, 150)], is_closed=True)
    hatch.paths.add_edge_path().add_arc((125, 115), 8, 0, 360)
    space.add_text("Quillfern")
    return dxf(document, binary)
