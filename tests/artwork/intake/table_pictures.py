"""Files for the guide's table of formats: pictures. Row (format and feature, as the guide has them) → its files."""

from __future__ import annotations

from collections.abc import Callable

import cv2
import numpy as np
from PIL import Image, ImageDraw

from artwork.intake import Limits
from tests.artwork.intake import test_inside as inside
from tests.artwork.intake import test_raster_formats as raster
from tests.artwork.intake.made import SIDE, Sent, emblem, encoded
from tests.artwork.intake.phone import SQUARE_ON, TILTED, photographed, printed, seen_from
from tests.artwork.intake.test_ink import LIGHTS, N, photo
from tests.artwork.intake.test_sheet import DARK_BOARD, WALL

Files = Callable[[], list[Sent]]


def of_kinds(*names: str) -> Files:
    """Those files of the raster tests whose names begin like this."""
    return lambda: [Sent(data) for name, data in raster.FILES.items() if name.startswith(names)]


def one(make: Callable[[], bytes], *wished: dict[str, object]) -> Files:
    """One file, sent with each of these wishes; with none where none is named."""
    return lambda: [Sent(data, wishes=wishes) for data in [make()] for wishes in wished or ({},)]


def jpeg(pixels: np.ndarray, quality: int = 90) -> bytes:
    return encoded(pixels.clip(0, 255).astype(np.uint8), "JPEG", quality=quality)


def turned_by_its_camera() -> bytes:
    exif = Image.Exif()
    exif[0x0112] = 6
    return encoded(np.ascontiguousarray(np.rot90(emblem())), "JPEG", quality=95, exif=exif.tobytes())


def profiled(profile: bytes) -> bytes:
    colours = np.asarray(raster.RGB).copy()
    colours[colours[:, :, 0] < 128] = (0, 90, 40)
    return encoded(colours, "PNG", icc_profile=profile)


def pages_of_tiff() -> bytes:
    return encoded(raster.GREY, "TIFF", save_all=True, append_images=[Image.new("L", raster.GREY.size, 0)])


def patch() -> bytes:
    """A grey disc in light from one side."""
    sheet = np.full((N, N), 235.0)
    cv2.circle(sheet, (300, 300), 150, 120, -1)
    cv2.rectangle(sheet, (100, 520), (500, 540), 30.0, -1)
    return jpeg(sheet * LIGHTS["from one side"] + np.random.default_rng(7).normal(0, 6, (N, N)), 80)


def specks() -> bytes:
    pixels = emblem(N).copy()
    pixels[4:6, 4:400:20] = 0
    return encoded(pixels, "PNG")


def crooked() -> bytes:
    card = Image.new("L", (N, N), 255)
    draw = ImageDraw.Draw(card)
    for row in range(5):
        draw.text((110, 150 + 60 * row), "QUILLFERN GARDEN", fill=20, font_size=40)
    matrix = cv2.getRotationMatrix2D((N / 2, N / 2), 2.3, 1)
    turned = cv2.warpAffine(np.asarray(card), matrix, (N, N), flags=cv2.INTER_CUBIC, borderValue=255)
    return jpeg(turned * 0.92 + np.random.default_rng(3).normal(0, 5, (N, N)), 95)


def tile() -> bytes:
    image = Image.new("RGB", (N, N), "white")
    draw = ImageDraw.Draw(image)
    draw.rounded_rectangle([0, 0, N - 1, N - 1], 100, fill=(30, 90, 40))
    draw.ellipse([N // 4, N // 4, N * 3 // 4, N * 3 // 4], fill="white")
    return encoded(image, "PNG")


def inks() -> bytes:
    sheet = np.full((SIDE, SIDE, 3), 255, np.uint8)
    sheet[20:100, 20:220] = (11, 93, 59)
    sheet[140:220, 20:220] = (190, 20, 20)
    return encoded(sheet, "PNG")


def ramp() -> bytes:
    pixels = np.full((N, N, 3), 255, np.uint8)
    levels = np.linspace(0, 200, 400).astype(np.uint8)
    pixels[150:450, 100:500] = np.stack([levels // 2, 40 + levels // 3, levels], -1)
    return encoded(pixels, "PNG")


def dark_board() -> bytes:
    return photographed(printed(**DARK_BOARD), SQUARE_ON, "hand", behind=WALL, rough=0.5).jpeg()


PICTURES: dict[str, Files] = {
    "PNG: 1, 2, 4, 8, 16 bits; palette; interlaced; alpha; one clear colour": lambda: [
        *of_kinds("png")(), Sent(raster.interlaced(emblem())),
    ],
    "APNG, GIF: animation": of_kinds("apng", "gif, animated"),
    "JPEG: grey, colour, progressive, camera's orientation": lambda: [
        *(Sent(raster.FILES[name]) for name in ("jpeg", "jpeg colour", "jpeg progressive")),
        Sent(turned_by_its_camera()),
    ],
    "JPEG, TIFF: CMYK without a profile": of_kinds("jpeg cmyk", "tiff cmyk"),
    "any picture: ICC profile": lambda: [
        Sent(profiled(raster.gamma_profile(2.2))), Sent(profiled(b"not a profile" * 20)),
    ],
    "TIFF: fax G4, LZW, 16 bits, float, Lab, several pages": lambda: [
        *of_kinds("tiff g4", "tiff lzw", "tiff 16", "tiff float", "tiff lab")(), Sent(pages_of_tiff()),
    ],
    "WebP, BMP, HEIC, AVIF: as phones and programs write them": of_kinds("webp", "bmp", "heic", "avif"),
    "any picture: over 16 megapixels": lambda: [
        Sent(jpeg(emblem(1200)), limits=Limits(working_pixels=400_000)),
    ],
    "any picture: resolution tag": one(lambda: encoded(raster.GREY, "PNG", dpi=(300, 300))),
    "any picture: uneven light, shadow, grain": one(lambda: jpeg(photo(LIGHTS["a hand's shadow"]))),
    "photo, scan: a large patch of middling ink in uneven light": one(patch),
    "photo: a card, letterhead or sign with all its edges in view": one(
        lambda: photographed(printed(), SQUARE_ON, "even").jpeg()
    ),
    "photo: such a sheet seen at an angle, or crooked": lambda: [
        *one(photographed(printed(), TILTED, "even").jpeg, {}, {"straighten": True})(),
        Sent(photographed(printed(), seen_from(0, 0, 4), "even").jpeg()),
    ],
    "photo: light print on a dark or coloured ground, a shadow over it": one(dark_board),
    "any picture: specks too small to carve at the largest size": one(specks, {"largest_mm": 150.0}),
    "any picture: crooked scan": one(crooked, {}, {"straighten": True}),
    "any picture: light art on a dark ground; art on nothing": lambda: [
        Sent(encoded(255 - emblem(N), "PNG")), *of_kinds("png colour and alpha")(),
    ],
    "any picture: a dark shape that fills the picture, paper only in its corners": one(tile),
    "any picture: several flat colours": one(inks),
    "any picture: gradients, shading": one(ramp),
    "photo: a scene without a ground": one(inside.scene),
    "JPEG XL: plain or in its box": lambda: [Sent(inside.further("JXL"))],
    "JPEG 2000, ICO, PCX, PPM, TGA, PSD: as programs write them; of a PSD the flattened picture": lambda: [
        Sent(inside.further(kind)) for kind in inside.FURTHER[:-1]
    ],
    "any picture: under 100 pixels of art": one(lambda: encoded(emblem(90), "PNG")),
}  # fmt: skip
