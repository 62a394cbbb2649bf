"""Files as other programs write them, made by these: ``python -m tests.artwork.intake.programs [FOLDER]`` keeps them.

Ghostscript, potrace, groff and cjxl of Debian; Pillow, OpenCV, reportlab and Python's own archive and mail modules; and
five libraries that write office documents, fetched from the registry into a folder of their own, as nothing else needs
them.
"""

from __future__ import annotations

import gzip
import io
import subprocess
import sys
import tempfile
import zipfile
from collections.abc import Callable, Iterator
from email.message import EmailMessage
from pathlib import Path
from typing import Any

import cv2
import numpy as np
from PIL import Image

from tests.artwork.intake.made import emblem, encoded, read, svg
from tests.artwork.intake.test_foreign import EPS
from tests.artwork.intake.test_pdf import disc, page

OFFICE = (
    "python-docx==1.2.0",
    "python-pptx==1.0.2",
    "openpyxl==3.1.5",
    "XlsxWriter==3.2.9",
    "odfpy==1.4.1",
    "lxml",
)
DRAWING = svg(
    '<path d="M50 5C80 20 95 60 50 95C5 60 20 20 50 5Z"/><circle cx="50" cy="50" r="12" fill="#fff"/>'
)
GREY = Image.fromarray(emblem())
COLOUR = GREY.convert("RGB")
Maker = Callable[[], bytes]


def ran(*command: str, given: bytes = b"", ends: str = "out") -> bytes:
    """What a program writes to the file named ``{out}``, or says; ``{given}`` is a file with what it is given."""
    with tempfile.TemporaryDirectory() as folder:
        source, target = Path(folder) / "given", Path(folder) / f"art.{ends}"
        source.write_bytes(given)
        words = [each.format(given=source, out=target) for each in command]
        done = subprocess.run(words, input=given, capture_output=True, timeout=60, check=True)
        return target.read_bytes() if target.exists() else done.stdout


def _ghostscript(device: str, *options: str) -> Maker:
    return lambda: ran("gs", "-q", "-dSAFER", "-dBATCH", "-dNOPAUSE", "-r100", f"-sDEVICE={device}", *options,
                       "-sOutputFile={out}", "{given}", given=EPS)  # fmt: skip


def _potrace(*options: str) -> Maker:
    return lambda: ran("potrace", *options, "-o", "{out}", "{given}", given=encoded(GREY.convert("1"), "PPM"))


def _jxl(*options: str) -> Maker:
    return lambda: ran("cjxl", "{given}", "{out}", *options, given=encoded(COLOUR, "PNG"), ends="jxl")


def _opencv(ending: str) -> Maker:
    pixels = np.asarray(GREY if ending == ".pgm" else COLOUR)
    return cv2.imencode(ending, pixels)[1].tobytes


def _zip(method: int, **files: bytes) -> Maker:
    def made() -> bytes:
        stream = io.BytesIO()
        with zipfile.ZipFile(stream, "w", method) as archive:
            for name, data in files.items():
                archive.writestr(name.replace("_", "."), data)
        return stream.getvalue()

    return made


def _mail(kind: str, data: bytes, encoding: str = "base64") -> Maker:
    def made() -> bytes:
        mail = EmailMessage()
        mail["Subject"], mail["From"] = "Our logo", "garden@quillfern.example"
        mail.set_content("Please carve this. Kind regards")
        main, _, sub = kind.partition("/")
        mail.add_attachment(data, maintype=main, subtype=sub, filename="logo", cte=encoding)
        return mail.as_bytes()

    return made


def _reportlab() -> bytes:
    from reportlab.graphics import renderPS
    from reportlab.graphics.shapes import Circle, Drawing

    return bytes(renderPS.drawToString(Drawing(100, 100, Circle(50, 50, 40))))


def _groff() -> bytes:
    return ran("groff", "-Tps", given=b".ps 60\n.vs 70\nQuillfern\n")


def plain() -> Iterator[tuple[str, Maker]]:
    """Everything but office documents."""
    for kind, options in (("JPEG2000", {}), ("JPEG2000", {"irreversible": True}), ("ICO", {}), ("PCX", {}),
                          ("PPM", {}), ("TGA", {}), ("TGA", {"compression": "tga_rle"}), ("EPS", {})):  # fmt: skip
        yield f"Pillow {kind} {options or ''}", lambda k=kind, o=options: encoded(COLOUR, k, **o)
    for kind, mode in (("PCX", "L"), ("PPM", "L"), ("PPM", "1"), ("TGA", "L"), ("ICO", "RGBA")):
        yield f"Pillow {kind} {mode}", lambda k=kind, m=mode: encoded(GREY.convert(m), k)
    for ending in (".jp2", ".ppm", ".pgm"):
        yield f"OpenCV {ending}", _opencv(ending)
    for device in ("eps2write", "ps2write", "psdrgb", "psdcmyk", "pcxmono", "pcxgray", "pcx256", "pcx24b",
                   "pgmraw", "ppmraw", "pbmraw", "pgm", "ppm", "pbm"):  # fmt: skip
        yield f"Ghostscript {device}", _ghostscript(device)
    for name in ("eps", "ps"):
        yield f"potrace {name}", _potrace("-b", name)
        yield f"potrace {name} of level 3, grouped", _potrace("-b", name, "-3", "--group")
    yield "potrace eps in plain text", _potrace("-b", "eps", "-c")
    yield "pdf2ps", lambda: ran("pdf2ps", "{given}", "{out}", given=page(disc))
    yield "reportlab eps", _reportlab
    yield "groff ps", _groff
    for options in ((), ("-d", "0"), ("-p",), ("--container=1",)):
        yield f"cjxl {' '.join(options)}", _jxl(*options)
    files = {"logo_svg": DRAWING, "logo_png": encoded(COLOUR, "PNG"), "logo_pdf": page(disc)}
    for method in (zipfile.ZIP_STORED, zipfile.ZIP_DEFLATED, zipfile.ZIP_BZIP2, zipfile.ZIP_LZMA):
        yield f"ZIP by method {method}", _zip(method, **files)
    yield "SVGZ by Python", lambda: gzip.compress(DRAWING)
    yield "SVGZ by gzip", lambda: ran("gzip", "-9", "-c", given=DRAWING)
    yield "message with a drawing", _mail("image/svg+xml", DRAWING)
    yield "message with a drawing, quoted", _mail("image/svg+xml", DRAWING, "quoted-printable")
    yield "message with a picture", _mail("image/png", encoded(COLOUR, "PNG"))
    yield "message with a PDF", _mail("application/pdf", page(disc))


def office() -> Iterator[tuple[str, Maker]]:
    """Documents of three office formats and their open counterparts, with pictures and with drawn shapes."""
    yield "DOCX with a picture", _docx
    for what, draw in (("a picture", _pptx_picture), ("shapes", _pptx_shapes), ("an outline of its own", _pptx_own),
                       ("a group", _pptx_group)):  # fmt: skip
        yield f"PPTX with {what}", lambda d=draw: _pptx(d)
    yield "XLSX with a picture", _xlsx
    yield "XLSX with a picture, by another library", _xlsx_other
    for name, kind in (("ODT", "Text"), ("ODG", "Drawing"), ("ODP", "Presentation")):
        yield f"{name} with a picture", lambda k=kind: _odf(k, _odf_picture)
        if kind != "Text":
            yield f"{name} with shapes", lambda k=kind: _odf(k, _odf_shapes)


def _saved(document: Any) -> bytes:
    stream = io.BytesIO()
    document.save(stream)
    return stream.getvalue()


def _picture() -> io.BytesIO:
    return io.BytesIO(encoded(COLOUR, "PNG"))


def _docx() -> bytes:
    from docx import Document

    document = Document()
    document.add_paragraph("Please carve this.")
    document.add_picture(_picture())
    return _saved(document)


def _pptx(draw: Callable[[Any], None]) -> bytes:
    from pptx import Presentation

    show = Presentation()
    draw(show.slides.add_slide(show.slide_layouts[6]).shapes)
    return _saved(show)


def _pptx_picture(shapes: Any) -> None:
    shapes.add_picture(_picture(), 0, 0)


def _pptx_shapes(shapes: Any) -> None:
    from pptx.enum.shapes import MSO_SHAPE
    from pptx.util import Mm

    for at, kind in enumerate((MSO_SHAPE.OVAL, MSO_SHAPE.STAR_5_POINT, MSO_SHAPE.HEXAGON, MSO_SHAPE.CHEVRON)):
        shapes.add_shape(kind, Mm(10 + 50 * at), Mm(20), Mm(40), Mm(30)).rotation = 10 * at


def _pptx_own(shapes: Any) -> None:
    drawn = shapes.build_freeform(0, 0, scale=36_000)
    drawn.add_line_segments([(80, 0), (80, 40), (40, 60)], close=True)
    drawn.convert_to_shape()


def _pptx_group(shapes: Any) -> None:
    _pptx_shapes(shapes.add_group_shape().shapes)


def _xlsx() -> bytes:
    from openpyxl import Workbook
    from openpyxl.drawing.image import Image as Placed

    book = Workbook()
    book.active.add_image(Placed(_picture()), "B2")
    return _saved(book)


def _xlsx_other() -> bytes:
    import xlsxwriter

    stream = io.BytesIO()
    with xlsxwriter.Workbook(stream) as book:
        book.add_worksheet().insert_image("B2", "logo.png", {"image_data": _picture()})
    return stream.getvalue()


def _odf(kind: str, draw: Callable[[Any, Any], None]) -> bytes:
    from odf import opendocument
    from odf.draw import Page
    from odf.style import MasterPage, PageLayout
    from odf.text import P

    document = getattr(opendocument, f"OpenDocument{kind}")()
    if kind == "Text":
        place = P()
        document.text.addElement(place)
    else:
        layout = PageLayout(name="layout")
        document.automaticstyles.addElement(layout)
        master = MasterPage(name="master", pagelayoutname=layout)
        document.masterstyles.addElement(master)
        place = Page(masterpagename=master)
        getattr(document, kind.lower()).addElement(place)
    draw(document, place)
    return _saved(document)


def _odf_shapes(document: Any, place: Any) -> None:
    from odf.draw import Circle, Polygon
    from odf.style import GraphicProperties, Style

    style = Style(name="ink", family="graphic")
    style.addElement(GraphicProperties(fill="solid", fillcolor="#204060", stroke="none"))
    document.automaticstyles.addElement(style)
    place.addElement(Circle(stylename=style, x="2cm", y="2cm", width="4cm", height="4cm"))
    place.addElement(Polygon(stylename=style, x="8cm", y="2cm", width="4cm", height="4cm", viewbox="0 0 4000 4000",
                             points="2000,0 4000,4000 0,4000"))  # fmt: skip


def _odf_picture(document: Any, place: Any) -> None:
    from odf.draw import Frame
    from odf.draw import Image as Placed

    frame = Frame(width="5cm", height="5cm", x="1cm", y="1cm")
    frame.addElement(Placed(href=document.addPictureFromString(encoded(COLOUR, "PNG"), "image/png")))
    place.addElement(frame)


def everything(folder: Path) -> Iterator[tuple[str, bytes]]:
    """All files by name; office libraries are fetched into ``folder``."""
    for name, make in plain():
        yield name, make()
    uv = Path(sys.executable).with_name("uv")
    fetch = [uv, "pip", "install", "--quiet", "--python", sys.executable, "--target", folder, *OFFICE]
    subprocess.run(fetch, check=True)
    sys.path.append(str(folder))
    for name, make in office():
        yield name, make()


def main(arguments: list[str]) -> int:
    """Reads every file and says what became of it; keeps the files in the folder named."""
    with tempfile.TemporaryDirectory() as libraries:
        for number, (name, data) in enumerate(everything(Path(libraries))):
            said = outcome(data)
            sys.stdout.write(f"{name}: {said}\n")
            if arguments:
                (Path(arguments[0]) / f"{number:02} {name.split(' {')[0].replace('/', ' ')}").write_bytes(
                    data
                )
    return 0


def outcome(data: bytes) -> str:
    """``read``, or the code of the refusal."""
    from artwork.errors import EngineError

    try:
        reading = read(data)
    except EngineError as refusal:
        return refusal.code
    return "read" if reading.outline.contours else "empty"


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
