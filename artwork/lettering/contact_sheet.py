"""The contact sheet of a run: every piece at a glance, exceptions marked and listed, one digest to sign."""

from __future__ import annotations

import textwrap
from collections.abc import Callable, Iterator, Sequence

from artwork.lettering.fitting import Lettered
from artwork.lettering.paper import A4, Colour, Ink, Page, Photo, Words
from artwork.lettering.piece_pictures import piece_pictures
from artwork.lettering.runs import JudgedRun, Piece
from artwork.lettering.sheet_view import FOOT, HEAD, MARGIN, View
from artwork.lettering.typefaces import typeface

CAP, SMALL_CAP = 2.6, 1.9
LINE = 4.2
"""From line to line of the list of exceptions, mm."""
COLUMN_CHARACTERS = 150
RED: Colour = (176, 32, 24)
AMBER: Colour = (150, 92, 0)
GREY: Colour = (90, 90, 90)

Item = Ink | Words | Photo


def contact_sheet(
    judged: JudgedRun,
    title: str,
    size: tuple[float, float] = A4,
    signed: str = "",
    shown: Sequence[bytes] | None = None,
) -> list[Page]:
    """The pages: pieces in order, then the exceptions in words.

    Args:
        judged: the run.
        title: whose order and which line of it.
        size: of the paper, mm.
        signed: digest that names what is signed, on every page; the run's own where none is given.
        shown: the pieces' pictures, as they were signed; drawn anew where they are not given.
    """
    view = View.of(judged, size)
    shown = shown or list(piece_pictures(judged))
    per_page = view.columns * view.rows
    pieces = judged.pieces
    sheets = [
        _pieces(view, pieces[at : at + per_page], shown[at : at + per_page])
        for at in range(0, len(pieces), per_page)
    ]
    sheets += _listed(judged, size)
    return [
        Page(size, [*_head(judged, title, size, (number, len(sheets)), signed or judged.digest), *inks])
        for number, inks in enumerate(sheets, 1)
    ]


def _head(
    judged: JudgedRun, title: str, size: tuple[float, float], page: tuple[int, int], signed: str
) -> Iterator[Item]:
    """Title, the run in words, and the digest that is signed, on every page."""
    rule = judged.run.rule
    top = size[1] - MARGIN
    yield Words(title, MARGIN, top - 4, 3.6)
    said = (
        f"{judged.sentence} {typeface(rule.typeface).name}, capitals {rule.cap_height:g} mm "
        f"(no less than {rule.least_cap_height:g}), on “{judged.run.slat.name}”."
    )
    yield Words(said, MARGIN, top - 10, SMALL_CAP, GREY)
    yield Words(f"Signed as one: {signed}", MARGIN, top - 15, SMALL_CAP, GREY)
    yield Words(f"Page {page[0]} of {page[1]}", MARGIN, MARGIN, SMALL_CAP, GREY)


def _pieces(view: View, pieces: Sequence[Piece], shown: Sequence[bytes]) -> list[Item]:
    inks: list[Item] = []
    for place, (piece, picture) in enumerate(zip(pieces, shown, strict=True)):
        inks += _piece(view, piece, picture, *view.corner(place))
    return inks


def _piece(view: View, piece: Piece, picture: bytes, x: float, y: float) -> Iterator[Item]:
    """One picture with its number; what stops or is noted is told by words and frame, not by colour alone."""
    judged = piece.judged
    width, height = view.shown
    yield Photo(picture, x, y, width, height)
    if judged.cut is None:
        words = textwrap.shorten(piece.entry.text, int(width / SMALL_CAP), placeholder="…")
        yield Words(words, x + 2, y + height / 2, SMALL_CAP, RED)
    label, colour = str(piece.number), GREY
    if judged.stops:
        label, colour = f"{piece.number}  cannot be made", RED
    elif judged.notes:
        label, colour = f"{piece.number}  see note", AMBER
    yield Words(label, x, y - 3.4, SMALL_CAP, colour)


def _listed(judged: JudgedRun, size: tuple[float, float]) -> list[list[Item]]:
    """The exceptions in words, over as many pages as they need."""
    lines = [*_stopped(judged), *_noted(judged)]
    fit = int((size[1] - 2 * MARGIN - HEAD - FOOT) / LINE)
    top = size[1] - MARGIN - HEAD
    return [
        [
            Words(text, MARGIN, top - (at + 1) * LINE, SMALL_CAP, colour)
            for at, (text, colour) in enumerate(lines[first : first + fit])
        ]
        for first in range(0, len(lines), fit)
    ]


def _stopped(judged: JudgedRun) -> Iterator[tuple[str, Colour]]:
    """Every piece that cannot be made, with all that is the matter."""
    stopped = [piece for piece in judged.exceptions if piece.judged.stops]
    if stopped:
        yield "Cannot be made as they are", RED
    for piece in stopped:
        text = piece.entry.text.replace("\n", " / ")
        yield f"{piece.number}, row {piece.entry.row}: {text}", RED
        for line in textwrap.wrap(" ".join(piece.judged.notes), COLUMN_CHARACTERS):
            yield line, GREY


def _noted(judged: JudgedRun) -> Iterator[tuple[str, Colour]]:
    """What is to be noted of the others: every note once, with the pieces it is about."""
    found: dict[str, list[str]] = {}
    for piece in judged.exceptions:
        lettered, check = piece.judged.lettered, piece.judged.check
        if lettered is None or check is None or piece.judged.stops:
            continue
        if check.verdict != "carves":
            found.setdefault(check.sentence, []).append(str(piece.number))
        for remark in lettered.remarks:
            heading, figure = _FIGURES[remark.code]
            found.setdefault(heading, []).append(f"{piece.number}{figure(lettered)}")
    if found:
        yield "To be noted", AMBER
    for note, pieces in found.items():
        yield note, AMBER
        for line in textwrap.wrap(f"Pieces {', '.join(pieces)}.", COLUMN_CHARACTERS):
            yield line, GREY


_FIGURES: dict[str, tuple[str, Callable[[Lettered], str]]] = {
    "smaller-letters": (
        "Smaller letters than wanted, so that they fit (height of the capitals, mm).",
        lambda lettered: f"\u00a0({int(lettered.cap_height * 10) / 10:g})",
    ),
    "tighter-spacing": (
        "Tighter letter spacing than wanted, so that they fit (em).",
        lambda lettered: f"\u00a0({lettered.tracking:g})",
    ),
    "two-lines": ("Set in two lines, so that they fit.", lambda _: ""),
}
"""Remarks of the rule of fit: heading, and the figure told of each piece."""
