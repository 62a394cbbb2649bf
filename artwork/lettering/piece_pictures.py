"""Each piece's picture: what will be left in the wood, upright, with the places that stop. It is what is signed."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from types import MappingProxyType

import cv2
import numpy as np
import shapely

from artwork.close_up import Box
from artwork.curves import Floats
from artwork.grain import Board, Look, board_of, look_of
from artwork.lettering.runs import Judged, JudgedRun
from artwork.lettering.sheet_view import AROUND, View
from artwork.preview import Picture, png, render
from artwork.relief import Relief, bare, carved_into
from artwork.shapes import areas
from artwork.workpiece import Slat

_NONE: Mapping[str, bytes] = MappingProxyType({})
DENSITY = 10.0
"""Pixels per mm of the sheet: a 60 mm picture is 600 pixels wide."""
MARK = 1.2
"""How far marks of findings reach beyond their place, mm on the wood."""
RED = (176, 32, 24)
FRAME, RING = 7, 2
"""Pixels of the frame around a piece that cannot be made, and of the rings around the places that stop."""


def piece_pictures(judged: JudgedRun, known: Mapping[str, bytes] = _NONE) -> Iterator[bytes]:
    """A PNG per piece, in their order; of a piece that was refused the bare wood. Equal texts share one.

    Args:
        judged: the run.
        known: pictures drawn before, by the digest of their cut.
    """
    drawn = dict(known)
    sheet: _Sheet | None = None
    for piece in judged.pieces:
        name = piece.judged.digest or ""
        if name not in drawn:
            sheet = sheet or _Sheet.of(View.of(judged), judged.run.slat)
            drawn[name] = png(_picture(sheet, piece.judged))
        yield drawn[name]


@dataclass(frozen=True, eq=False)
class _Sheet:
    """What all pieces of a run have in common: how they are shown, and the wood that they are carved into."""

    view: View
    slat: Slat
    plain: Relief
    look: Look
    board: Board

    @classmethod
    def of(cls, view: View, slat: Slat) -> _Sheet:
        density = view.scale * DENSITY
        plain = bare(slat, density, AROUND, _on_slat(view, slat, density))
        look = look_of(slat.species, "fresh")
        return cls(view, slat, plain, look, board_of(plain, look, slat))


def _picture(sheet: _Sheet, judged: Judged) -> Picture:
    view, density = sheet.view, sheet.plain.px_per_mm
    face = sheet.plain if judged.cut is None else carved_into(sheet.plain, judged.cut, exact=False)
    shown = _upright(view, face, render(face, sheet.look, sheet.slat, sheet.board), density)
    if judged.check is not None and judged.stops:
        places = [finding.place for finding in judged.check.findings if finding.severity == "stops"]
        for part in areas(shapely.union_all([place.buffer(MARK, quad_segs=4) for place in places])):
            ring = _pixels(view, np.asarray(part.exterior.coords), density)
            cv2.polylines(shown, [np.rint(ring).astype(np.int32)], True, RED, RING, cv2.LINE_AA)
    if judged.stops:
        cv2.rectangle(shown, (0, 0), (shown.shape[1] - 1, shown.shape[0] - 1), RED, 2 * FRAME)
    return shown


def _on_slat(view: View, slat: Slat, density: float) -> Box:
    """What of the slat's picture the window needs, whole pixels from its corner."""
    left, low, width, height = view.window
    corners = np.array([[left, low], [left + width, low], [left, low + height], [left + width, low + height]])
    corners = corners @ _turn(view.turn_deg)
    x0, y0, x1, y1 = slat.outline.bounds
    least, top = x0 - AROUND, y1 + AROUND
    near = np.clip(corners, [least, y0 - AROUND], [x1 + AROUND, top])
    (first, lowest), (last, highest) = near.min(axis=0), near.max(axis=0)
    columns = np.floor((first - least) * density), np.ceil((last - least) * density)
    rows = np.floor((top - highest) * density), np.ceil((top - lowest) * density)
    return (
        float(least + columns[0] / density),
        float(top - rows[1] / density),
        float(least + columns[1] / density),
        float(top - rows[0] / density),
    )


def _turn(turn_deg: float) -> Floats:
    """Points of the upright frame (as rows) times this are on the slat."""
    angle = np.radians(turn_deg)
    return np.array([[np.cos(angle), np.sin(angle)], [-np.sin(angle), np.cos(angle)]])


def _pixels(view: View, points: Floats, density: float) -> Floats:
    """Slat mm → pixels of the picture."""
    left, low, _, height = view.window
    return np.asarray((points @ _turn(view.turn_deg).T - [left, low + height]) * [density, -density])


def _upright(view: View, face: Relief, picture: Picture, density: float) -> Picture:
    """The part of a slat's picture that the window shows, its field upright."""
    width, height = (round(each * DENSITY) for each in view.shown)
    corners = np.array([[0.0, 0.0], [1.0, 0.0], [0.0, 1.0]]) * 100
    there = corners / density * [1, -1] + [face.left, face.top]
    matrix = cv2.getAffineTransform(
        corners.astype(np.float32), _pixels(view, there, density).astype(np.float32)
    )
    shown = cv2.warpAffine(
        picture, matrix, (width, height), flags=cv2.INTER_LINEAR, borderMode=cv2.BORDER_REPLICATE
    )
    return np.asarray(shown, np.uint8)
