"""The way in: one file, any format, to a reading."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from types import MappingProxyType

from artwork.errors import EngineError
from artwork.intake.foreign import (
    FOREIGN,
    Drawings,
    Foreign,
    ForeignError,
    drawing_of,
    part_of,
    stopped,
    told_of,
)
from artwork.intake.sniffing import FORMATS, sniff
from artwork.intake.unpacking import CONTAINERS, Member
from artwork.intake.values import Choice, Limits, Reading, Wishes
from artwork.remark import FileWarning

EXTENSIONS = {
    "jpg": "jpeg",
    "jpe": "jpeg",
    "jfif": "jpeg",
    "tif": "tiff",
    "heif": "heic",
    "apng": "png",
    "ai": "pdf",
    "ps": "eps",
}
_TRIED, _SHOWN_MEMBERS = 8, 4
"""How many files within a file are tried, and how many of them shown to choose from."""
_SHOWN_NAME = 60
_AS_IT_COMES = Wishes()
_SAFE = Limits()


def read_artwork(
    data: bytes,
    name: str,
    wishes: Wishes = _AS_IT_COMES,
    limits: Limits = _SAFE,
    drawings: Drawings = MappingProxyType({}),
) -> Reading:
    """Reads one uploaded file.

    Args:
        data: its bytes.
        name: the name its sender gave it; used in remarks only, never as a path.
        wishes: how its sender wants it read.
        limits: how much it may ask for.
        drawings: what other programs made of its parts that are not read here, by their digest.

    Raises:
        ForeignError: such parts must be converted first; the file is then read again with ``drawings``.
        EngineError: with a code, a message and a cure, for every file that cannot be used.
    """
    if len(data) > limits.file_bytes:
        raise EngineError(
            "file-too-large",
            f"The file is {len(data) / 1e6:.1f} MB; at most {limits.file_bytes / 1e6:.0f} MB is taken.",
            "Send a smaller file: 3000 pixels across is plenty for a picture, and a drawing is better still.",
        )
    kind = sniff(data)
    try:
        reading = (
            _inside(data, kind, wishes, limits, drawings)
            if kind in CONTAINERS
            else _read(data, kind, wishes, limits, drawings)
        )
    except RecursionError:  # styles, blocks or objects within each other, in whichever library met them
        raise EngineError(
            "nested-too-deep",
            "Something in the file is nested within itself more deeply than can be followed.",
            "Flatten the drawing, or save it afresh from the program that drew it, and send that.",
        ) from None
    return replace(reading, remarks=(*_misnamed(name, kind), *reading.remarks))


def _read(data: bytes, kind: str, wishes: Wishes, limits: Limits, drawings: Drawings) -> Reading:
    if kind not in FOREIGN:
        return _reader(kind)(data, kind, wishes, limits)
    drawing = drawing_of(part_of(data, kind), drawings)
    try:
        reading = _reader(drawing.kind)(drawing.data, drawing.kind, wishes, limits)
    except EngineError as refusal:
        if drawing.stopped and refusal.code in ("blank-picture", "nothing-drawn", "damaged-pdf"):
            raise stopped() from refusal
        raise
    return replace(reading, format=kind, remarks=(*told_of(drawing), *reading.remarks))


def _inside(data: bytes, kind: str, wishes: Wishes, limits: Limits, drawings: Drawings) -> Reading:
    """The best of the files within a file, or the one asked for; with several, the first few to choose from."""
    from artwork.intake.thumbnails import smaller
    from artwork.intake.unpacking import members

    found = members(data, kind, limits)
    if wishes.piece is not None:
        if wishes.piece >= len(found):
            raise EngineError(
                "piece-not-there",
                f"The file holds {len(found)} pictures or drawings; number {wishes.piece + 1} is not among them.",
                "Choose one that is there, or send the logo file alone.",
            )
        reading = _read(found[wishes.piece].data, found[wishes.piece].kind, wishes, limits, drawings)
        read = {wishes.piece: reading}
    else:
        read = _readable(found, wishes, limits, drawings)
    at = next(iter(read))
    reading = read[at]
    if kind == "svgz":
        return reading
    others = f" {len(found) - 1} others are in it, to choose from." if len(found) > 1 else ""
    remark = FileWarning(
        "read-inside", f"“{found[at].name[-_SHOWN_NAME:]}” in the file you sent was read.{others}"
    )
    if len(read) > 1:
        choices = tuple(
            Choice(
                replace(wishes, piece=place),
                found[place].name[-_SHOWN_NAME:],
                smaller(each.picture),
                taken=place == at,
            )
            for place, each in read.items()
        )
        reading = replace(reading, choices=choices)
    return replace(reading, remarks=(remark, *reading.remarks))


def _readable(found: list[Member], wishes: Wishes, limits: Limits, drawings: Drawings) -> dict[int, Reading]:
    """The first few members that can be read; all that must be converted for that are asked for at once.

    The best one's refusal where none can.
    """
    read: dict[int, Reading] = {}
    first: EngineError | None = None
    foreign: list[Foreign] = []
    for place, member in enumerate(found[:_TRIED]):
        try:
            read[place] = _read(member.data, member.kind, wishes, limits, drawings)
        except ForeignError as error:
            foreign += error.parts
        except EngineError as refusal:
            first = first or refusal
        if len(read) + len(foreign) == _SHOWN_MEMBERS:
            break
    if foreign:
        raise ForeignError(tuple(foreign))
    if not read and first is not None:
        raise first
    return read


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


def _misnamed(name: str, kind: str) -> tuple[FileWarning, ...]:
    """A remark where the name's ending says another format than the bytes do."""
    ending = name.rpartition(".")[2].lower()
    said = EXTENSIONS.get(ending, ending)
    if said == kind or said not in FORMATS:
        return ()
    return (
        FileWarning(
            "named-otherwise", f"The file is named .{ending} but is {kind.upper()}; it was read as that."
        ),
    )
