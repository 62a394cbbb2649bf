"""What intake takes and gives."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Annotated, Literal

from annotated_types import Ge, Le, Lt, MaxLen

from artwork.outline import Outline
from artwork.remark import FileWarning

Kind = Literal["traced", "vector"]
Way = Literal["solid", "parted", "drawn", "toned"]
"""How carved colours are kept apart.

``solid``: where two meet they become one shape. ``parted``: where two meet a line of wood is left. ``drawn``: an edge
between colours that are not carved is carved as a line. ``toned``: what is dark is carved, whatever its colour, and the
darker side of edges within it, as in a woodcut.
"""
Crop = tuple[float, float, float, float]
"""Part of a page, left, top, right, bottom, as shares of its width and height."""
MOST_INKS = 64
_Page = Annotated[int, Ge(0), Le(499)]


@dataclass(frozen=True)
class Wishes:
    """What the client or the maker says about how the file should be read.

    Attributes:
        shade: −3 (lighter: less of the picture becomes art) to +3 (darker: more of it does).
        invert: carve what is taken for the background; ``None`` lets intake decide.
        inks: which of :attr:`Reading.inks` are carved, by their place in it; ``None`` lets intake decide.
        way: how carved colours are kept apart; ``None`` lets intake decide, and ``solid`` where ``inks`` are given.
        page: which page of a file with several, from 0.
        piece: which of the files within an archive, an office document or a message, from 0; ``None`` for the best.
        crop: the part of the page that is read; ``None`` lets intake decide.
        straighten: turn a crooked scan upright, and make a sheet that was photographed at an angle square.
        largest_mm: the largest size, across, at which the art may be carved.
        least_mark_mm: a spot smaller than this is not worth a plunge of the bit; at the largest size it
            decides what counts as a speck.
    """

    shade: Annotated[int, Ge(-3), Le(3)] = 0
    invert: bool | None = None
    inks: Annotated[tuple[Annotated[int, Ge(0), Lt(MOST_INKS)], ...], MaxLen(MOST_INKS)] | None = None
    way: Way | None = None
    page: _Page = 0
    piece: _Page | None = None
    crop: Crop | None = None
    straighten: bool = False
    largest_mm: float = 600.0
    least_mark_mm: float = 0.8


@dataclass(frozen=True)
class Limits:
    """How much one file may ask for; each limit has its own refusal code.

    Attributes:
        file_bytes: size of the file (``file-too-large``).
        pixels: width × height that a raster file, or one picture in a drawing, claims (``image-too-large``).
        side: greatest width or height it claims, pixels (``image-too-large``).
        scans: passes that a progressive JPEG is built up in (``too-many-scans``); each costs as much as the first.
        working_pixels: a picture above this is read at half, a quarter … of its resolution, with a remark.
        text_bytes: size of an SVG or DXF text, unpacked (``drawing-too-large``).
        elements: drawing elements after references are followed (``too-many-elements``).
        nesting: depth of groups, blocks or forms within each other (``nested-too-deep``).
        commands: path commands in the whole drawing (``too-many-path-commands``).
        nodes: segments of the finished outline (``outline-too-detailed``).
        regions: closed contours of the finished outline (``outline-too-detailed``).
        pages: pages of a file that are looked at (``page-not-there`` above).
    """

    file_bytes: int = 40_000_000
    pixels: int = 50_000_000
    side: int = 16_000
    scans: int = 100
    working_pixels: int = 16_000_000
    text_bytes: int = 12_000_000
    elements: int = 40_000
    nesting: int = 64
    commands: int = 300_000
    nodes: int = 200_000
    regions: int = 20_000
    pages: int = 500


@dataclass(frozen=True)
class Ink:
    """One colour of the artwork.

    Attributes:
        colour: ``"#rrggbb"``.
        share: part of the picture it covers, 0 to 1.
        carved: whether it is taken as art.
    """

    colour: str
    share: float
    carved: bool


@dataclass(frozen=True, eq=False)
class Choice:
    """One of several ways in which a file may be read: the person who knows the logo says which.

    Attributes:
        wishes: with these the file is read so.
        words: what it is, for whoever does not see the picture.
        picture: small PNG, black on white.
        taken: whether the file was read so.
    """

    wishes: Wishes
    words: str
    picture: bytes
    taken: bool = False


@dataclass(frozen=True, eq=False)
class Reading:
    """What was read from one file.

    Attributes:
        outline: the regions to be carved.
        kind: ``"vector"`` where the file's own curves were taken, ``"traced"`` where a picture was.
        format: ``"png"``, ``"svg"``, …: what the file is, whatever its name says.
        remarks: what its sender should know.
        inks: its colours, most of the picture first; which are carved can be wished for.
        counts: what was found and done in cleaning (``"specks-dropped"``, ``"nodes"``, …).
        picture: small PNG of the ink that was read, black on white.
        pages: how many pages the file has.
        sentence: what was read and what will be carved, in one line.
        choices: the readings to choose from, this one among them; none where there is no doubt.
    """

    outline: Outline
    kind: Kind
    format: str
    remarks: tuple[FileWarning, ...]
    inks: tuple[Ink, ...]
    counts: dict[str, int] = field(default_factory=dict)
    picture: bytes = b""
    pages: int = 1
    sentence: str = ""
    choices: tuple[Choice, ...] = ()
