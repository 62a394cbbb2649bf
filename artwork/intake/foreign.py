"""Files that another program must convert first: PostScript, metafiles, JPEG XL. The engine runs no program."""

from __future__ import annotations

import hashlib
from collections.abc import Mapping
from dataclasses import dataclass

from artwork.errors import EngineError
from artwork.remark import FileWarning

FOREIGN = ("eps", "emf", "wmf", "jxl")
_POSTSCRIPT = (
    "eps-not-read",
    "This is an EPS or PostScript file, and no drawing could be made of it here.",
    "In the program it was drawn in, export it as PDF or SVG and send that; or ask whoever drew it for the PDF.",
)
_METAFILE = (
    "metafile-not-read",
    "This is a metafile (EMF or WMF), and no drawing could be made of it here.",
    "Put it into a document and save that as PDF, or export it as SVG, and send that.",
)
_JPEG_XL = (
    "jxl-not-read",
    "This is a JPEG XL picture, and it could not be unpacked here.",
    "Open it on your side, save it as PNG or JPEG, and send that.",
)
_END_MARK = b"%%EOF"
_DOS_MARK = b"\xc5\xd0\xd3\xc6"
"""EPS with a picture of itself for the screen: EPSF 3.0 specification, section 6."""


@dataclass(frozen=True)
class Foreign:
    """A file, or a part of one, to be converted.

    Attributes:
        kind: one of :data:`FOREIGN`.
        data: its bytes; of an EPS file its PostScript alone.
    """

    kind: str
    data: bytes

    @property
    def digest(self) -> str:
        """SHA-256 of its bytes, by which what was made of it is known."""
        return hashlib.sha256(self.data).hexdigest()


@dataclass(frozen=True)
class Converted:
    """What a program made of it.

    Attributes:
        kind: ``pdf``, ``svg`` or ``png``; empty where it made nothing.
        data: the drawing or picture.
        stand_ins: typefaces in which text was set whose own are not in the file.
        stopped: whether the program met an error in the file, and drew no further.
    """

    kind: str
    data: bytes = b""
    stand_ins: tuple[str, ...] = ()
    stopped: bool = False


Drawings = Mapping[str, Converted]
"""What was made of foreign files, by their digest."""


class ForeignError(EngineError):
    """The file, or the best of what is in it, must be converted first. Whoever cannot tells it as a refusal.

    Attributes:
        parts: what to convert.
    """

    def __init__(self, parts: tuple[Foreign, ...]) -> None:
        super().__init__(*_words(parts[0].kind))
        self.parts = parts


def _words(kind: str) -> tuple[str, str, str]:
    return {"eps": _POSTSCRIPT, "jxl": _JPEG_XL}.get(kind, _METAFILE)


def part_of(data: bytes, kind: str) -> Foreign:
    """What of a file is to be converted."""
    if data.startswith(_DOS_MARK):
        start, length = (int.from_bytes(data[at : at + 4], "little") for at in (4, 8))
        data = data[start : start + length]
    if kind == "eps":  # what follows the mark of the end is nobody's drawing, and may be no PostScript
        ended, mark, _ = data.rpartition(_END_MARK)
        data = ended + mark if mark else data
    return Foreign(kind, data)


def drawing_of(part: Foreign, drawings: Drawings) -> Converted:
    """What was made of it. ForeignError where nobody was asked yet, EngineError where nothing could be made."""
    if part.digest not in drawings:
        raise ForeignError((part,))
    drawing = drawings[part.digest]
    if not drawing.kind:
        raise EngineError(*_words(part.kind))
    return drawing


def stopped() -> EngineError:
    """The file's program failed before it drew anything."""
    return EngineError(
        "postscript-failed",
        "The PostScript in this file stops with an error before it draws anything.",
        "In the program it was drawn in, export it as PDF or SVG and send that; or ask whoever drew it for the PDF.",
    )


def told_of(drawing: Converted) -> tuple[FileWarning, ...]:
    """What looks otherwise than its sender knows it."""
    remarks: list[FileWarning] = []
    if drawing.stopped:
        remarks.append(
            FileWarning(
                "postscript-cut-short",
                "The PostScript in this file stops with an error; what it had drawn by then was read.",
                "warns",
            )
        )
    if drawing.stand_ins:
        names = ", ".join(drawing.stand_ins)
        remarks.append(
            FileWarning(
                "text-in-another-font",
                f"The file names a font that it does not hold; its text was set in {names} instead. "
                "Send it with its text turned into outlines to have your own letters.",
                "warns",
            )
        )
    return tuple(remarks)
