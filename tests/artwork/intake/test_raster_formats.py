"""Every raster format and its odd corners: the same emblem must come out of each."""

from __future__ import annotations

import io
import re
import struct
import zlib

import cv2
import numpy as np
import pytest
from PIL import Image, ImageCms

from tests.artwork.intake.made import (
    CLOSE,
    SIDE,
    area,
    codes,
    emblem,
    emblem_truth,
    encoded,
    overlap,
    read,
    refused,
    sound,
)  # fmt: skip

GREY = Image.fromarray(emblem())
RGB = GREY.convert("RGB")
TRUTH = emblem_truth()


def palette() -> Image.Image:
    return RGB.quantize(16)


def clear_around(image: Image.Image) -> Image.Image:
    """The ink on nothing: paper made clear."""
    clear = image.convert("RGBA")
    clear.putalpha(Image.fromarray(255 - emblem()))
    return clear


def sixteen_bits() -> Image.Image:
    return Image.fromarray(emblem().astype(np.uint16) * 257)


def apng() -> bytes:
    frames = [GREY.convert("RGB"), Image.new("RGB", GREY.size, "red")]
    stream = io.BytesIO()
    frames[0].save(stream, "PNG", save_all=True, append_images=frames[1:], default_image=False)
    return stream.getvalue()


FILES = {
    "png 1 bit": encoded(GREY.convert("1", dither=Image.Dither.NONE), "PNG"),
    "png 2 bits": encoded(RGB.quantize(4), "PNG", bits=2),
    "png 4 bits": encoded(palette(), "PNG", bits=4),
    "png 8 bits": encoded(GREY, "PNG"),
    "png 16 bits": encoded(sixteen_bits(), "PNG"),
    "png colour": encoded(RGB, "PNG"),
    "png palette": encoded(palette(), "PNG"),
    "png grey and alpha": encoded(clear_around(GREY).convert("LA"), "PNG"),
    "png colour and alpha": encoded(clear_around(GREY), "PNG"),
    "png palette, one entry clear": encoded(palette(), "PNG", transparency=palette().getpixel((0, 0))),
    "png grey, one level clear": encoded(GREY, "PNG", transparency=255),
    "png 16 bits, one level clear": encoded(sixteen_bits(), "PNG", transparency=65535),
    "png colour, one colour clear": encoded(RGB, "PNG", transparency=(255, 255, 255)),
    "apng": apng(),
    "jpeg": encoded(GREY, "JPEG", quality=90),
    "jpeg colour": encoded(RGB, "JPEG", quality=90),
    "jpeg progressive": encoded(RGB, "JPEG", quality=90, progressive=True),
    "jpeg cmyk": encoded(RGB.convert("CMYK"), "JPEG", quality=95),
    "webp": encoded(RGB, "WEBP", quality=90),
    "webp lossless, alpha": encoded(clear_around(GREY), "WEBP", lossless=True),
    "tiff": encoded(RGB, "TIFF"),
    "tiff lzw": encoded(GREY, "TIFF", compression="tiff_lzw"),
    "tiff g4 fax": encoded(GREY.convert("1", dither=Image.Dither.NONE), "TIFF", compression="group4"),
    "tiff cmyk": encoded(RGB.convert("CMYK"), "TIFF"),
    "tiff 16 bits": encoded(sixteen_bits(), "TIFF"),
    "tiff float": encoded(Image.fromarray(emblem().astype(np.float32) / 255), "TIFF"),
    "tiff lab": encoded(
        ImageCms.applyTransform(
            RGB,
            ImageCms.buildTransform(
                ImageCms.createProfile("sRGB"), ImageCms.createProfile("LAB"), "RGB", "LAB"
            ),
        ),
        "TIFF",
    ),
    "gif": encoded(RGB, "GIF"),
    "gif, clear": encoded(clear_around(GREY), "GIF"),
    "gif, animated": encoded(RGB, "GIF", save_all=True, append_images=[Image.new("RGB", RGB.size, "red")]),
    "bmp": encoded(RGB, "BMP"),
    "bmp 1 bit": encoded(GREY.convert("1", dither=Image.Dither.NONE), "BMP"),
    "avif": encoded(RGB, "AVIF", quality=90),
}


def heic() -> bytes:
    import pillow_heif

    stream = io.BytesIO()
    pillow_heif.from_pillow(RGB).save(stream, quality=95)
    return stream.getvalue()


FILES["heic"] = heic()


@pytest.mark.parametrize("name", FILES)
def test_the_emblem_comes_out(name: str) -> None:
    kind = re.match("[a-z]+", name)[0]
    reading = read(FILES[name], f"art.{kind}")
    assert reading.format == kind.replace("apng", "png")
    assert reading.kind == "traced"
    assert reading.outline.pixel == 1.0
    assert reading.outline.stated_mm is None
    sound(reading.outline)
    assert overlap(reading.outline, TRUTH) > CLOSE, name


@pytest.mark.parametrize("name", ["apng", "gif, animated"])
def test_an_animation_is_its_first_frame_and_says_so(name: str) -> None:
    assert "first-frame" in codes(read(FILES[name]))


def test_a_second_tiff_page_is_not_read_and_said_so() -> None:
    data = encoded(GREY, "TIFF", save_all=True, append_images=[Image.new("L", GREY.size, 0)])
    reading = read(data)
    assert "first-page" in codes(reading)
    assert overlap(reading.outline, TRUTH) > CLOSE


def test_print_colours_without_a_profile_are_remarked() -> None:
    assert "print-colours" in codes(read(FILES["jpeg cmyk"]))


def interlaced(pixels: np.ndarray) -> bytes:
    """A grey PNG in the seven passes of Adam7, which Pillow does not write."""
    passes = [
        (0, 0, 8, 8),
        (4, 0, 8, 8),
        (0, 4, 4, 8),
        (2, 0, 4, 4),
        (0, 2, 2, 4),
        (1, 0, 2, 2),
        (0, 1, 1, 2),
    ]
    rows = b"".join(
        b"\0" + line.tobytes() for x, y, dx, dy in passes for line in pixels[y::dy, x::dx] if line.size
    )

    def chunk(kind: bytes, body: bytes) -> bytes:
        return struct.pack(">I", len(body)) + kind + body + struct.pack(">I", zlib.crc32(kind + body))

    head = struct.pack(">IIBBBBB", SIDE, SIDE, 8, 0, 0, 0, 1)
    body = chunk(b"IDAT", zlib.compress(rows)) + chunk(b"IEND", b"")
    return b"\x89PNG\r\n\x1a\n" + chunk(b"IHDR", head) + body


def test_an_interlaced_png_reads_like_a_plain_one() -> None:
    pixels = emblem()
    data = interlaced(pixels)
    assert np.array_equal(np.asarray(Image.open(io.BytesIO(data))), pixels)
    assert overlap(read(data).outline, TRUTH) > CLOSE


@pytest.mark.parametrize("orientation", range(1, 9))
def test_a_photo_is_turned_as_its_camera_says(orientation: int) -> None:
    turns = {
        1: lambda a: a,
        2: lambda a: cv2.flip(a, 1),
        3: lambda a: cv2.rotate(a, cv2.ROTATE_180),
        4: lambda a: cv2.flip(a, 0),
        5: cv2.transpose,
        6: lambda a: cv2.rotate(a, cv2.ROTATE_90_COUNTERCLOCKWISE),
        7: lambda a: cv2.flip(cv2.transpose(a), -1),
        8: lambda a: cv2.rotate(a, cv2.ROTATE_90_CLOCKWISE),
    }
    upright = emblem().copy()
    upright[:20, :60] = 0  # a mark in one corner, so that no turn looks like another
    exif = Image.Exif()
    exif[0x0112] = orientation
    data = encoded(np.ascontiguousarray(turns[orientation](upright)), "JPEG", quality=95, exif=exif.tobytes())
    assert overlap(read(data).outline, upright < 138) > CLOSE


def test_an_icc_profile_is_honoured() -> None:
    """Values that only the profile makes light: with it there is dark art on light, without it nothing."""
    # A matrix profile whose tone curve is a gamma of 8: value 200 is then as dark as 40 is in sRGB.
    profile = gamma_profile(8.0)
    pixels = np.full((SIDE, SIDE, 3), 255, np.uint8)
    pixels[60:180, 60:180] = (255, 205, 205)
    with_profile = read(encoded(pixels, "PNG", icc_profile=profile))
    plain = read(encoded(pixels, "PNG"))
    assert with_profile.inks[1].colour != plain.inks[1].colour
    assert int(with_profile.inks[1].colour[3:5], 16) < 0.75 * int(plain.inks[1].colour[3:5], 16)
    assert area(with_profile) == pytest.approx(120 * 120, rel=0.01)


def gamma_profile(gamma: float) -> bytes:
    """An ICC v2 matrix/TRC display profile with sRGB's primaries and one gamma for all channels."""

    def xyz(x: float, y: float, z: float) -> bytes:
        return b"XYZ \0\0\0\0" + b"".join(struct.pack(">i", round(v * 65536)) for v in (x, y, z))

    curve = b"curv\0\0\0\0" + struct.pack(">IH", 1, round(gamma * 256)) + b"\0\0"
    words = b"desc\0\0\0\0" + struct.pack(">I", 6) + b"gamma\0" + b"\0" * 79
    tags = {
        b"desc": words, b"cprt": b"text\0\0\0\0none\0\0\0\0", b"wtpt": xyz(0.9642, 1.0, 0.8249),
        b"rXYZ": xyz(0.4361, 0.2225, 0.0139), b"gXYZ": xyz(0.3851, 0.7169, 0.0971),
        b"bXYZ": xyz(0.1431, 0.0606, 0.7141), b"rTRC": curve, b"gTRC": curve, b"bTRC": curve,
    }  # fmt: skip
    table, body, at = b"", b"", 128 + 4 + 12 * len(tags)
    for name, content in tags.items():
        table += name + struct.pack(">II", at + len(body), len(content))
        body += content + b"\0" * (-len(content) % 4)
    head = bytearray(128)
    head[4:8] = b"lcms"
    head[8:12] = struct.pack(">I", 0x02400000)
    head[12:24] = b"mntrRGB XYZ "
    head[36:40] = b"acsp"
    head[68:80] = b"".join(struct.pack(">i", round(v * 65536)) for v in (0.9642, 1.0, 0.8249))
    data = bytes(head) + struct.pack(">I", len(tags)) + table + body
    return struct.pack(">I", len(data)) + data[4:]


def test_a_broken_profile_is_remarked_and_the_picture_read() -> None:
    colours = np.asarray(RGB).copy()
    colours[colours[:, :, 0] < 128] = (0, 90, 40)
    reading = read(encoded(colours, "PNG", icc_profile=b"not a profile" * 20))
    assert "profile-not-read" in codes(reading)
    assert overlap(reading.outline, TRUTH) > 0.95


def test_resolution_tags_state_no_size() -> None:
    assert read(encoded(GREY, "PNG", dpi=(300, 300))).outline.stated_mm is None


def test_a_large_photo_is_read_smaller() -> None:
    from artwork.intake import Limits

    data = encoded(Image.fromarray(emblem(1200)), "JPEG")
    reading = read(data, limits=Limits(working_pixels=400_000))
    assert max(reading.outline.size) < 600
    assert overlap(reading.outline, emblem_truth(600)) > 0.98
    assert "read-smaller" in codes(reading)


def test_a_name_that_says_another_format_is_remarked() -> None:
    assert "named-otherwise" in codes(read(FILES["jpeg"], "logo.png"))
    assert "named-otherwise" not in codes(read(FILES["jpeg"], "LOGO.JPG"))
    assert "named-otherwise" not in codes(read(FILES["jpeg"], "../../logo"))


@pytest.mark.parametrize("name", ["png 8 bits", "jpeg", "webp", "tiff lzw", "gif", "bmp", "avif", "heic"])
def test_a_truncated_file_is_refused(name: str) -> None:
    data = FILES[name]
    for share in (0.3, 0.6):
        cut = data[: int(len(data) * share)]
        assert refused(cut).code in ("damaged-image", "not-artwork", "blank-picture"), name


def test_blank_and_solid_pages_are_refused() -> None:
    for mode in ("L", "RGB"):
        assert refused(encoded(Image.new(mode, (300, 300), "white"), "PNG")).code == "blank-picture"
        assert refused(encoded(Image.new(mode, (300, 300), "black"), "PNG")).code == "solid-picture"
    assert refused(encoded(Image.new("RGBA", (300, 300), (0, 0, 0, 0)), "PNG")).code == "blank-picture"


def test_a_picture_of_one_pixel_is_refused() -> None:
    assert refused(encoded(Image.new("L", (1, 1), 0), "PNG")).code in ("blank-picture", "solid-picture")
