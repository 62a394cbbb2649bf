"""A picture file → traced outline."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace

import cv2
import numpy as np

from artwork.curves import Contour
from artwork.errors import EngineError
from artwork.intake.colour_words import look_words, read_sentence
from artwork.intake.colours import rgb_of
from artwork.intake.decoding import decode
from artwork.intake.ink import read_ink
from artwork.intake.inked import Bytes, Inked, Picture, blank_picture
from artwork.intake.levelling import GRAINY
from artwork.intake.looks import Judged, Look
from artwork.intake.page_choice import read_by_parts, untouched
from artwork.intake.page_parts import page_parts
from artwork.intake.sheet import Sheet, cut_out, squared
from artwork.intake.sheet_finding import find_sheet
from artwork.intake.skew import skew_deg
from artwork.intake.thumbnails import CHOICE_SIDE, mask_picture
from artwork.intake.values import Choice, Ink, Limits, Reading, Way, Wishes
from artwork.outline import Outline
from artwork.remark import FileWarning
from artwork.tracing import TraceSettings, trace

_CORNER = 0.75
"""potrace's corner threshold, sharper than its own 1.0: letters and crests have corners, and a V-bit cuts them sharp.
On icons of 2,000 pixels the greatest error of an edge falls from 1.8 to 1.4 pixels, for a fifth more nodes.
"""
_FINEST_SIDE = 100
"""A picture of fewer pixels than this across cannot hold a logo that could be carved."""


def read_raster(data: bytes, kind: str, wishes: Wishes, limits: Limits) -> Reading:
    """Decodes, finds the ink, traces it."""
    picture, remarks = decode(data, kind, limits)
    picture = picture.cropped(wishes.crop)
    sheet = find_sheet(picture.levels) if picture.lens and picture.alpha is None else None
    if sheet is None:
        parts = page_parts(picture.on_white) if untouched(wishes) else None
        if parts is not None and not parts.letter:  # a drawing of several pieces is one drawing
            parts = None
        return read_by_parts(
            parts,
            wishes,
            lambda asked: read_picture(picture.cropped(asked.crop), remarks, kind, asked, limits),
        )
    picture, noticed = _on_its_sheet(picture, sheet, wishes)
    return read_picture(picture, [*remarks, *noticed], kind, wishes, limits, upright=True)


def _on_its_sheet(picture: Picture, sheet: Sheet, wishes: Wishes) -> tuple[Picture, list[FileWarning]]:
    """What of a photo is on the sheet in it: as it was seen, or square where wished."""
    remarks = [FileWarning("sheet-found", "A sheet lies in the photo; only what is on the sheet was read.")]
    if wishes.straighten:
        if not sheet.upright:
            remarks.append(FileWarning("straightened", "The sheet was made square and turned upright."))
        return replace(picture, levels=squared(picture.levels, sheet)), remarks
    if not sheet.square_on:
        message = (
            f"The sheet was seen at an angle: its sides differ by {100 * sheet.keystone:.0f} % and its corners are "
            f"up to {sheet.off_square_deg:.0f}° off square, and so is the art. It can be straightened."
        )
        remarks.append(FileWarning("seen-at-an-angle", message, "warns"))
    elif not sheet.upright:
        remarks.append(_crooked(sheet.turn_deg))
    levels, inside = cut_out(picture.levels, sheet)
    return replace(picture, levels=levels, inside=inside), remarks


def read_picture(
    picture: Picture,
    remarks: list[FileWarning],
    kind: str,
    wishes: Wishes,
    limits: Limits,
    *,
    stated_mm: float | None = None,
    pages: int = 1,
    upright: bool = False,
    inked: Inked | None = None,
) -> Reading:
    """Finds the ink of a picture and traces it; one outline unit is one pixel of ``picture``.

    ``upright``: how the art lies is known already, and its lines are not asked. ``inked``: its ink, where that is
    known already.
    """
    if inked is None:
        inked = read_ink(picture, wishes)
    remarks = [*remarks, *(FileWarning(code, message, severity) for code, message, severity in inked.notes)]
    speck = speck_area(inked.mask, wishes)
    contours = trace(inked.mask, TraceSettings(speck=speck, corner=_CORNER))
    if not contours:
        raise blank_picture()
    check_size(contours, limits)
    outline = Outline(contours, 1.0, stated_mm)
    if not upright:
        outline, turned = _straightened(outline, inked, wishes)
        remarks += turned
    counts = {
        **inked.counts,
        "specks-dropped": _specks(inked.mask, speck),
        "speck-pixels": speck,
        "contours": len(contours),
        "nodes": outline.nodes,
    }
    if counts["specks-dropped"]:
        remarks.append(_specks_remark(counts["specks-dropped"], wishes))
    if max(outline.size) < _FINEST_SIDE:
        remarks.append(
            FileWarning(
                "few-pixels",
                f"The art is only {max(outline.size):.0f} pixels across; its edges will be coarse.",
                "warns",
            )
        )
    inks = tuple(Ink(*colour) for colour in inked.colours)
    picture_of = mask_picture(inked.mask)
    return Reading(
        outline,
        "traced",
        kind,
        tuple(remarks),
        inks,
        counts,
        picture_of,
        pages,
        read_sentence(inks, inked.way, 0),
        choices_of(inked.looks, inks, inked.way, wishes),
    )


def choices_of(
    looks: Sequence[Judged], inks: Sequence[Ink], way: Way | None, wishes: Wishes
) -> tuple[Choice, ...]:
    """Looks as choices; none where there is but one."""
    if len(looks) < 2:
        return ()
    taken = Look(way or "solid", tuple(at for at, ink in enumerate(inks) if ink.carved))
    return as_choices(looks, inks, taken, wishes)


def as_choices(
    looks: Sequence[Judged], inks: Sequence[Ink], taken: Look | None, wishes: Wishes
) -> tuple[Choice, ...]:
    """Each look as a choice."""
    colours = [rgb_of(ink.colour) for ink in inks]
    return tuple(
        Choice(
            replace(wishes, way=each.look.way, inks=each.look.inks, invert=None),
            look_words(colours, each.look.inks, each.look.way),
            mask_picture(each.mask, CHOICE_SIDE),
            each.look == taken,
        )
        for each in looks
    )


def speck_area(mask: Bytes, wishes: Wishes) -> int:
    """Pixels of the largest region that is too small to carve even at the largest size the art may get."""
    _, _, width, height = cv2.boundingRect(mask)
    across = wishes.least_mark_mm / wishes.largest_mm * max(width, height)
    return max(_POTRACE_SPECK, int(math.pi / 4 * across**2))


_POTRACE_SPECK = 2
"""potrace's own default, for pictures so coarse that a pixel is no speck."""


def _specks(mask: Bytes, area: int) -> int:
    """About how many regions of ink or holes have at most ``area`` pixels; counted by their edges."""
    edges, _ = cv2.findContours(mask, cv2.RETR_LIST, cv2.CHAIN_APPROX_SIMPLE)
    reach = max(2, math.isqrt(area) * 3)
    few = 0
    for edge in edges:
        _, _, width, height = cv2.boundingRect(edge)
        # an edge runs through pixel centres: Pick's theorem gives the pixels on and inside it
        if max(width, height) <= reach and cv2.contourArea(edge) + len(edge) / 2 + 1 <= area:
            few += 1
    return few


def _specks_remark(count: int, wishes: Wishes) -> FileWarning:
    return FileWarning(
        "specks-dropped",
        f"{count} specks too small to carve (under {wishes.least_mark_mm:g} mm when the art is "
        f"{wishes.largest_mm:g} mm across) were left out.",
    )


def _straightened(outline: Outline, inked: Inked, wishes: Wishes) -> tuple[Outline, list[FileWarning]]:
    """Turned upright where wished; a remark where a scan lies crooked."""
    if not wishes.straighten and inked.grain <= GRAINY:
        return outline, []
    turn = skew_deg(inked.mask)
    if turn == 0:
        return outline, []
    if not wishes.straighten:
        return outline, [_crooked(turn)]
    cos, sin = math.cos(math.radians(turn)), math.sin(math.radians(turn))
    matrix, shift = np.array([[cos, -sin], [sin, cos]]), np.zeros(2)
    contours = tuple(contour.moved(matrix, shift) for contour in outline.contours)
    return replace(outline, contours=contours), [
        FileWarning("straightened", f"The art lay {abs(turn):.1f}° crooked and was turned upright.")
    ]


def _crooked(degrees: float) -> FileWarning:
    return FileWarning("crooked", f"The art lies {abs(degrees):.1f}° crooked; it can be straightened.")


def check_size(contours: tuple[Contour, ...], limits: Limits) -> None:
    """EngineError where the outline has more detail than any carving could show."""
    nodes = sum(len(contour.knots) for contour in contours)
    if nodes > limits.nodes or len(contours) > limits.regions:
        raise EngineError(
            "outline-too-detailed",
            f"The art breaks into {len(contours)} outlines with {nodes} nodes, far more than can be carved.",
            "Send a simpler or cleaner logo: flat shapes, no photo, no texture.",
        )
