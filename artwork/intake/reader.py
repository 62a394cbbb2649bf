"""The way in: one file, any format, to a reading."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

from artwork.intake.sniffing import FORMATS, sniff
from artwork.intake.values import Limits, Reading, Wishes
from artwork.refusal import Refusal
from artwork.remark import Remark

EXTENSIONS = {
    "jpg": "jpeg",
    "jpe": "jpeg",
    "jfif": "jpeg",
    "tif": "tiff",
    "heif": "heic",
    "apng": "png",
    "ai": "pdf",
}
_AS_IT_COMES = Wishes()
_SAFE = Limits()


def read_artwork(data: bytes, name: str, wishes: Wishes = _AS_IT_COMES, limits: Limits = _SAFE) -> Reading:
    """Reads one uploaded file.

    Args:
        data: its bytes.
        name: the name its sender gave it; used in remarks only, never as a path.
        wishes: how its sender wants it read.
        limits: how much it may ask for.

    Raises:
        Refusal: with a code, a message and a cure, for every file that cannot be used.
    """
    if len(data) > limits.file_bytes:
        raise Refusal(
            "file-too-large",
            f"The file is {len(data) / 1e6:.1f} MB; at most {limits.file_bytes / 1e6:.0f} MB is taken.",
            "Send a smaller file: 3000 pixels across is plenty for a picture, and a drawing is better still.",
        )
    kind = sniff(data)
    try:
        reading = _reader(kind)(data, kind, wishes, limits)
    except RecursionError:  # styles, blocks or objects within each other, in whichever library met them
        raise Refusal(
            "nested-too-deep",
            "Something in the file is nested within itself more deeply than can be followed.",
            "Flatten the drawing, or save it afresh from the program that drew it, and send that.",
        ) from None
    return replace(reading, remarks=(*_misnamed(name, kind), *reading.remarks))


def _reader(kind: str) -> Callable[[bytes, str, Wishes, Limits], Reading]:
    """Codecs are loaded only for the kind of file that needs them."""
    if kind == "svg":
        from artwork.intake.svg import read_svg

        return read_svg
    if kind == "pdf":
        from artwork.intake.pdf import read_pdf

        return read_pdf
    if kind == "dxf":
        from artwork.intake.dxf import read_dxf

        return read_dxf
    from artwork.intake.raster import read_raster

    return read_raster


def _misnamed(name: str, kind: str) -> tuple[Remark, ...]:
    """A remark where the name's ending says another format than the bytes do."""
    ending = name.rpartition(".")[2].lower()
    said = EXTENSIONS.get(ending, ending)
    if said == kind or said not in FORMATS:
        return ()
    return (
        Remark("named-otherwise", f"The file is named .{ending} but is {kind.upper()}; it was read as that."),
    )
