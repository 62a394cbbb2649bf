"""The way in: one file, any format, to a reading."""

from __future__ import annotations

from dataclasses import replace

from artwork.intake.sniffing import FORMATS, sniff
from artwork.intake.values import Limits, Reading, Remark, Wishes
from artwork.refusal import Refusal

DRAWINGS = ("svg", "pdf", "dxf")
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
    if kind == "svg":
        from artwork.intake.svg import read_svg

        reading = read_svg(data, kind, wishes, limits)
        return replace(reading, remarks=(*_misnamed(name, kind), *reading.remarks))
    if kind in DRAWINGS:
        raise Refusal("not-artwork", f"{kind.upper()} files are not read yet.", "Send it as SVG or PNG.")
    from artwork.intake.raster import read_raster as read

    reading = read(data, kind, wishes, limits)
    return replace(reading, remarks=(*_misnamed(name, kind), *reading.remarks))


def _misnamed(name: str, kind: str) -> tuple[Remark, ...]:
    """A remark where the name's ending says another format than the bytes do."""
    ending = name.rpartition(".")[2].lower()
    said = EXTENSIONS.get(ending, ending)
    if said == kind or said not in FORMATS:
        return ()
    return (
        Remark("named-otherwise", f"The file is named .{ending} but is {kind.upper()}; it was read as that."),
    )
