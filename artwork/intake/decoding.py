"""Raster bytes → pixels: upright, 8 bits, in sRGB or grey, with what is transparent kept apart."""

from __future__ import annotations

import io
import struct
import warnings
import zlib
from collections.abc import Callable
from dataclasses import replace

import cv2
import numpy as np
from PIL import Image, ImageCms

from artwork.errors import EngineError
from artwork.intake.inked import Picture
from artwork.intake.values import Limits
from artwork.remark import FileWarning

PILLOW_NAMES = {
    "png": "PNG",
    "jpeg": "JPEG",
    "gif": "GIF",
    "bmp": "BMP",
    "tiff": "TIFF",
    "webp": "WEBP",
    "heic": "HEIF",
    "avif": "AVIF",
    "jp2": "JPEG2000",
    "ico": "ICO",
    "pcx": "PCX",
    "ppm": "PPM",
    "tga": "TGA",
    "psd": "PSD",
}
ORIENTATION = 0x0112  # Exif 2.32, table 4
_FROM_LENSES = {"jpeg", "tiff", "heic", "avif", "webp"}
_COLOUR_SPREAD = 24
"""A pixel whose channels differ by more than this is coloured; below it lies JPEG noise on grey."""
_PNG_DEPTH, _PNG_COLOUR = 24, 25
"""Where in a PNG its bit depth and colour type stand (ISO/IEC 15948 §11.2.2)."""
_SCAN = b"\xff\xda"
"""Starts a scan of a JPEG (ITU-T T.81 §B.1.1.3); within a scan's data an FF is followed by 00 or a restart."""
_COLOURED_SHARE = 0.0005
_PROBE_SIDE = 512

# What the Pillow codecs raise for damaged files. Anything else is a defect of ours and is not swallowed.
_DAMAGE = (
    OSError,
    SyntaxError,
    ValueError,
    EOFError,
    IndexError,
    KeyError,
    TypeError,
    OverflowError,
    NotImplementedError,
    RuntimeError,
    struct.error,
    zlib.error,
)


def decode(data: bytes, kind: str, limits: Limits) -> tuple[Picture, list[FileWarning]]:
    """The first picture of the file. EngineError where it is damaged or claims too much."""
    remarks: list[FileWarning] = []
    if kind == "heic":
        import pillow_heif.HeifImagePlugin  # noqa: F401 - registers itself with Pillow
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")  # Pillow warns of large or odd files; the limits below decide instead
        image = _opened(data, kind, limits)
        _remark_frames(image, kind, remarks)
        try:
            size = image.size
            picture = _upright(_pixels(image, limits, remarks), _orientation(image))
        except Image.DecompressionBombError as error:
            raise _too_large(0, 0, limits) from error
        except _DAMAGE as error:
            raise _damaged(kind) from error
    if _factor(size[0] * size[1], limits) > 1:
        remarks.append(
            FileWarning(
                "read-smaller",
                f"The picture has {size[0]} × {size[1]} pixels, more than are needed; it was read smaller.",
            )
        )
    return replace(picture, lens=kind in _FROM_LENSES), remarks


def refuse_large(data: bytes, kind: str, limits: Limits) -> None:
    """EngineError where a picture inside a drawing claims too much; a damaged one is left to whoever draws it."""
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        try:
            _opened(data, kind, limits)
        except EngineError as refusal:
            if refusal.code != "damaged-image":
                raise


def _opened(data: bytes, kind: str, limits: Limits) -> Image.Image:
    if kind == "jpeg" and data.count(_SCAN) > limits.scans:
        raise EngineError(
            "too-many-scans",
            f"The JPEG is built up in more than {limits.scans} passes, far more than any program writes.",
            "Open it on your side, save it again as PNG, and send that.",
        )
    try:
        image = Image.open(io.BytesIO(data), formats=(PILLOW_NAMES[kind],))
    except Image.DecompressionBombError as error:
        raise _too_large(0, 0, limits) from error
    except _DAMAGE as error:
        raise _damaged(kind) from error
    if kind == "png" and len(data) > _PNG_COLOUR and data[_PNG_COLOUR] == 0 and data[_PNG_DEPTH] in (2, 4):
        _spread_clear_level(image, data[_PNG_DEPTH])
    refuse_claim(*image.size, limits)
    return image


def refuse_claim(width: int, height: int, limits: Limits) -> None:
    """EngineError ``image-too-large`` where a picture says that it has more pixels than are taken."""
    if width * height > limits.pixels or max(width, height) > limits.side:
        raise _too_large(width, height, limits)


def _spread_clear_level(image: Image.Image, depth: int) -> None:
    """Pillow spreads grey levels of 2 and 4 bits over 0 to 255, but not the one that the file calls clear."""
    level = image.info.get("transparency")
    if isinstance(level, int):
        image.info["transparency"] = level * 255 // ((1 << depth) - 1)


def _too_large(width: int, height: int, limits: Limits) -> EngineError:
    claim = f"{width} × {height} pixels" if width else "far more pixels than a picture needs"
    return EngineError(
        "image-too-large",
        f"The picture claims {claim}; at most {limits.pixels / 1e6:.0f} megapixels and "
        f"{limits.side} pixels a side are taken.",
        "Scale it down to about 3000 pixels across and send it again.",
    )


def _damaged(kind: str) -> EngineError:
    return EngineError(
        "damaged-image",
        f"The {kind.upper()} file is damaged or cut short and cannot be read.",
        "Open it on your side, save it again as PNG, and send that.",
    )


def _remark_frames(image: Image.Image, kind: str, remarks: list[FileWarning]) -> None:
    try:
        several = bool(getattr(image, "is_animated", False))
    except _DAMAGE:  # the first frame may still be whole
        return
    if several and kind != "tiff":
        remarks.append(FileWarning("first-frame", "The file is animated; its first frame was read.", "warns"))
    elif several:
        remarks.append(FileWarning("first-page", "The file has several pages; its first was read.", "warns"))


def _orientation(image: Image.Image) -> int:
    try:
        return int(image.getexif().get(ORIENTATION, 1))
    except _DAMAGE:  # broken metadata does not make the picture unreadable
        return 1


def _pixels(image: Image.Image, limits: Limits, remarks: list[FileWarning]) -> Picture:
    image = _drafted(image, limits)
    if image.mode.startswith("I;16"):
        return _sixteen_bit(image)
    image = _in_srgb(image, remarks)
    transparent = image.has_transparency_data
    if image.mode == "1" and not transparent:
        image = image.convert("L")
    elif image.mode in ("L", "LA") or (image.mode == "1" and transparent):
        image = image.convert("LA") if transparent else image
    elif image.mode in ("I", "F"):
        return Picture(_stretched(np.asarray(image)))
    else:
        image = _as_mode(image, "RGBA" if transparent else "RGB")
        if not _coloured(image):
            image = image.convert("LA" if transparent else "L")
    return _split(np.asarray(image), limits)


def _split(pixels: np.ndarray, limits: Limits) -> Picture:
    alpha = None
    if pixels.ndim == 3 and pixels.shape[2] in (2, 4):
        alpha = np.ascontiguousarray(pixels[:, :, -1])
        pixels = pixels[:, :, :-1] if pixels.shape[2] == 4 else pixels[:, :, 0]
        if alpha.min() == 255:
            alpha = None
    return _reduced(Picture(np.ascontiguousarray(pixels), alpha), limits)


def _drafted(image: Image.Image, limits: Limits) -> Image.Image:
    """A JPEG can be decoded at half or quarter size, which saves most of the memory and time."""
    width, height = image.size
    factor = _factor(width * height, limits)
    if image.format == "JPEG" and factor > 1:
        image.draft(None, (-(-width // factor), -(-height // factor)))
    return image


def _factor(pixels: int, limits: Limits) -> int:
    factor = 1
    while pixels / factor**2 > limits.working_pixels:
        factor *= 2
    return factor


def _reduced(picture: Picture, limits: Limits) -> Picture:
    height, width = picture.levels.shape[:2]
    factor = _factor(width * height, limits)
    if factor == 1:
        return picture
    size = (-(-width // factor), -(-height // factor))
    alpha = picture.alpha
    return Picture(
        cv2.resize(picture.levels, size, interpolation=cv2.INTER_AREA),
        None if alpha is None else cv2.resize(alpha, size, interpolation=cv2.INTER_AREA),
    )


def _as_mode(image: Image.Image, mode: str) -> Image.Image:
    return image if image.mode == mode else image.convert(mode)


def _coloured(image: Image.Image) -> bool:
    """Whether an RGB or RGBA picture has colours, judged on pixels all over it; clear ones are left out."""
    image.load()
    size = (min(image.width, _PROBE_SIDE), min(image.height, _PROBE_SIDE))
    probe = np.asarray(image.resize(size, Image.Resampling.NEAREST)).astype(np.int16)
    spread = probe[:, :, :3].max(axis=2) - probe[:, :, :3].min(axis=2)
    seen = spread[probe[:, :, 3] > 0] if probe.shape[2] == 4 else spread
    return bool(seen.size and (seen > _COLOUR_SPREAD).mean() > _COLOURED_SHARE)


def _sixteen_bit(image: Image.Image) -> Picture:
    values = np.asarray(image)
    key = image.info.get("transparency")
    alpha = None if key is None else np.where(values == key, 0, 255).astype(np.uint8)
    return Picture((values >> 8).astype(np.uint8), alpha)


def _stretched(values: np.ndarray) -> np.ndarray:
    """32-bit samples have no agreed white: least to greatest become 0 to 255."""
    values = np.nan_to_num(values.astype(np.float32))
    low, high = float(values.min()), float(values.max())
    return ((values - low) * (255 / max(high - low, 1e-9))).astype(np.uint8)


def _in_srgb(image: Image.Image, remarks: list[FileWarning]) -> Image.Image:
    """Colours as the file's ICC profile means them; CMYK without one by the plain formula, with a remark."""
    profile = image.info.get("icc_profile")
    if profile and image.mode in ("RGB", "CMYK", "RGBA", "LAB"):
        try:
            source = ImageCms.ImageCmsProfile(io.BytesIO(profile))
            if "srgb" in ImageCms.getProfileDescription(source).lower() and image.mode != "CMYK":
                return image
            target = "RGBA" if image.mode == "RGBA" else "RGB"
            converted = ImageCms.profileToProfile(
                image, source, ImageCms.createProfile("sRGB"), outputMode=target
            )
        except (ImageCms.PyCMSError, *_DAMAGE):
            remarks.append(
                FileWarning(
                    "profile-not-read",
                    "The file's colour profile is damaged; its colours were taken as they are.",
                )
            )
        else:
            return converted if converted is not None else image
    if image.mode == "CMYK":
        remarks.append(
            FileWarning(
                "print-colours",
                "The file is in print colours (CMYK) without a profile; colours are approximate.",
            )
        )
    if image.mode == "LAB":
        transform = ImageCms.buildTransform(
            ImageCms.createProfile("LAB"), ImageCms.createProfile("sRGB"), "LAB", "RGB"
        )
        return ImageCms.applyTransform(image, transform) or image
    return image


_TURNS: dict[int, Callable[[np.ndarray], np.ndarray]] = {
    2: lambda a: cv2.flip(a, 1),
    3: lambda a: cv2.rotate(a, cv2.ROTATE_180),
    4: lambda a: cv2.flip(a, 0),
    5: cv2.transpose,
    6: lambda a: cv2.rotate(a, cv2.ROTATE_90_CLOCKWISE),
    7: lambda a: cv2.flip(cv2.transpose(a), -1),
    8: lambda a: cv2.rotate(a, cv2.ROTATE_90_COUNTERCLOCKWISE),
}


def _upright(picture: Picture, orientation: int) -> Picture:
    turn = _TURNS.get(orientation)
    if turn is None:
        return picture
    return Picture(turn(picture.levels), None if picture.alpha is None else turn(picture.alpha))
