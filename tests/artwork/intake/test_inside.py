"""Files within files, further kinds of pictures, parts of pages, photographs; and what is said of what is not read."""

from __future__ import annotations

import gzip
import io
import struct
import subprocess
import tempfile
import zipfile
from email.message import EmailMessage
from pathlib import Path

import cv2
import numpy as np
import pytest
from PIL import Image

from artwork.intake import Limits
from tests.artwork.intake.made import area, codes, emblem, emblem_truth, encoded, overlap, read, refused, svg
from tests.artwork.intake.test_pdf import disc, page

LOGO = svg('<circle cx="50" cy="50" r="30"/>')
PICTURE = encoded(emblem(), "PNG")
OTHER = encoded(255 - emblem(), "PNG")


def packed(entries: dict[str, bytes], method: int = zipfile.ZIP_DEFLATED) -> bytes:
    stream = io.BytesIO()
    with zipfile.ZipFile(stream, "w", method) as archive:
        for name, data in entries.items():
            archive.writestr(name, data)
    return stream.getvalue()


def message(**attached: bytes) -> bytes:
    mail = EmailMessage()
    mail["Subject"] = "Our logo"
    mail["From"] = "garden@quillfern.example"
    mail.set_content("Please carve this. Kind regards")
    for name, data in attached.items():
        mail.add_attachment(data, maintype="application", subtype="octet-stream", filename=name)
    return mail.as_bytes()


OFFICE = {
    "docx": "word/media/image1.png", "pptx": "ppt/media/image1.png", "xlsx": "xl/media/image1.png",
    "odt": "Pictures/1000.png", "odg": "Pictures/1000.png", "odp": "Pictures/1000.png",
}  # fmt: skip


@pytest.mark.parametrize("kind", OFFICE)
def test_the_picture_in_an_office_document_is_read(kind: str) -> None:
    document = packed(
        {"[Content_Types].xml": b"<Types/>", "docProps/thumbnail.png": OTHER, "Thumbnails/thumbnail.png": OTHER,
         OFFICE[kind]: PICTURE}
    )  # fmt: skip
    reading = read(document)
    assert overlap(reading.outline, emblem_truth()) > 0.95
    assert codes(reading) == {"read-inside"}
    assert not reading.choices


def test_a_logo_pack_gives_its_drawing_and_shows_the_others() -> None:
    pack = packed(
        {"web/logo.png": PICTURE, "print/logo.pdf": page(disc), "logo.svg": LOGO, "read me.txt": b"hi"}
    )
    reading = read(pack)
    assert reading.format == "svg"
    assert [choice.taken for choice in reading.choices] == [True, False, False]
    assert [choice.words for choice in reading.choices] == ["logo.svg", "print/logo.pdf", "web/logo.png"]
    for choice, kind in zip(reading.choices, ("svg", "pdf", "png"), strict=True):
        assert choice.wishes.piece is not None
        assert read(pack, piece=choice.wishes.piece).format == kind
    assert refused(pack, piece=9).code == "piece-not-there"


def test_a_compressed_drawing_and_a_message_are_opened() -> None:
    assert area(read(gzip.compress(LOGO))) == pytest.approx(np.pi * 900, rel=1e-4)
    assert read(message(**{"logo.svg": LOGO, "logo.png": PICTURE})).format == "svg"
    assert refused(message()).code == "nothing-inside"


def test_what_unpacks_without_end_is_refused() -> None:
    bomb = packed({f"{at}.png": bytes(3_000_000) for at in range(30)})
    assert len(bomb) < 200_000
    assert refused(bomb).code == "archive-too-large"
    assert refused(gzip.compress(bytes(60_000_000))).code in ("archive-too-large", "damaged-archive")
    many = packed({f"{at}.txt": b"" for at in range(2500)}, zipfile.ZIP_STORED)
    assert refused(many).code == "too-many-files-inside"


def test_an_archive_within_an_archive_is_not_opened() -> None:
    inner = packed({"logo.svg": LOGO})
    assert refused(
        packed({"inner.zip": inner, "../../etc/passwd": b"x", "/abs.svgz": gzip.compress(LOGO)})
    ).code == ("nothing-inside")


FURTHER = ("JPEG2000", "ICO", "PCX", "PPM", "TGA", "PSD", "JXL")


def further(kind: str) -> bytes:
    """The emblem as another program's picture; a PSD by its published layout: no colour table, resources or layers."""
    if kind == "PSD":
        pixels = emblem()
        head = b"8BPS" + struct.pack(">H6xHIIHH", 1, 1, *pixels.shape, 8, 1) + struct.pack(">III", 0, 0, 0)
        return head + struct.pack(">H", 0) + pixels.tobytes()
    if kind == "JXL":  # Pillow writes none; Debian's cjxl does, beside the djxl that reads it
        with tempfile.TemporaryDirectory() as folder:
            before, after = Path(folder) / "emblem.png", Path(folder) / "emblem.jxl"
            before.write_bytes(encoded(emblem(), "PNG"))
            subprocess.run(["cjxl", before, after, "-d", "0", "--quiet"], check=True, capture_output=True)
            return after.read_bytes()
    options = {"sizes": [(240, 240)]} if kind == "ICO" else {}
    data = encoded(Image.fromarray(emblem()).convert("RGB"), kind, **options)
    if kind == "TGA" and not data.endswith(b"TRUEVISION-XFILE.\0"):
        data += bytes(8) + b"TRUEVISION-XFILE.\0"  # the footer of version 2
    return data


def scene() -> bytes:
    """A picture as a camera gives it of no sheet and no sign: colours all over."""
    rough = np.random.default_rng(3).integers(0, 256, (9, 12, 3)).astype(np.uint8)
    return encoded(cv2.resize(rough, (900, 675), interpolation=cv2.INTER_CUBIC), "JPEG", quality=88)


@pytest.mark.parametrize("kind", FURTHER)
def test_further_kinds_of_pictures_are_read(kind: str) -> None:
    reading = read(further(kind))
    assert overlap(reading.outline, emblem_truth()) > 0.95
    assert reading.format == {"JPEG2000": "jp2"}.get(kind, kind.lower())


@pytest.mark.parametrize(
    ("data", "code", "advice"),
    [
        (b"Rar!\x1a\x07" + bytes(30), "archive-not-read", "ZIP"),
        (b"\xd0\xcf\x11\xe0" + bytes(30), "old-office-not-read", "PDF"),
        (b"RIFF\0\0\0\0CDR9" + bytes(9), "illustration-not-read", "Export"),
        (b"{\\rtf1 hello}", "text-not-read", "lettering"),
        (b"Dear workshop, our logo", "text-not-read", "lettering"),
        (b"\0\0\0\x18ftypmp42" + bytes(12), "film-not-read", "still"),
        (b"wOF2" + bytes(40), "font-not-read", "outlines"),
        (b"<!doctype html><p>hi", "page-not-read", "logo itself"),
        (b"\xd7\xcd\xc6\x9a" + bytes(40), "metafile-not-read", "PDF"),  # of which wmf2svg makes nothing
        (b"\xff\x0a" + bytes(40), "jxl-not-read", "PNG"),  # of which djxl makes nothing
        (b"gimp xcf v011" + bytes(40), "layout-not-read", "PNG"),
    ],
)
def test_what_is_not_read_is_told_by_its_kind(data: bytes, code: str, advice: str) -> None:
    refusal = refused(data)
    assert refusal.code == code
    assert advice in refusal.cure


@pytest.mark.parametrize("kind", ["svg", "pdf", "png"])
def test_a_part_of_a_page_is_read_alone(kind: str) -> None:
    two = '<circle cx="25" cy="50" r="15"/><rect x="60" y="35" width="30" height="30"/>'
    sent = {
        "svg": svg(two),
        "pdf": page(lambda c: (c.circle(75, 100, 40, fill=1), c.rect(200, 60, 80, 80, fill=1))),
    }
    pixels = np.full((200, 400), 255, np.uint8)
    pixels[50:150, 50:150] = 0
    pixels[80:120, 250:350] = 0
    data = sent.get(kind) or encoded(pixels, "PNG")
    assert len(read(data).outline.contours) == 2
    part = read(data, crop=(0.5, 0.0, 1.0, 1.0))
    assert len(part.outline.contours) == 1
    assert refused(data, crop=(0.5, 0.5, 0.5001, 0.5001)).code == "crop-too-small"


def test_a_photograph_of_a_scene_is_told_as_one() -> None:
    data = scene()
    refusal = refused(data)
    assert refusal.code == "photograph-of-a-scene"
    assert "mark the part" in refusal.cure
    assert read(data, way="drawn", inks=()).outline.contours  # whoever wants it carved all the same may


def test_limits_hold_inside_too() -> None:
    assert refused(packed({"a.svg": LOGO}), limits=Limits(commands=1)).code == "too-many-path-commands"
