"""Walks a PDF page's objects in painting order and gathers what is painted (through pdfium)."""

from __future__ import annotations

import ctypes
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

import pypdfium2.raw as pdfium

from artwork.intake.colours import WHITE
from artwork.intake.decoding import refuse_claim
from artwork.intake.finishing import Drawing
from artwork.intake.marks import Area, Colour, Mark, Rule, on_paper
from artwork.intake.paths import IDENTITY, Matrix, Path, determinant, matmul
from artwork.intake.pdf_paths import path_of
from artwork.intake.pdf_text import PageText
from artwork.intake.stroking import Stroke, dash_count, stroked
from artwork.intake.svg_tree import nested_too_deep, too_many_commands, too_many_elements
from artwork.intake.values import Limits

_CAPS = {0: "butt", 1: "round", 2: "square"}
_JOINS = {0: "miter", 1: "round", 2: "bevel"}
_MITER_LIMIT = 10.0
"""PDF's default (ISO 32000-1 table 52); pdfium does not tell the file's own."""
_HAIRLINE = 0.25
"""Width, points, given to lines of width 0, which PDF calls the thinnest the device can draw."""
_INVISIBLE = 0.05
_INVISIBLE_TEXT = 3

CLIP_RULES: tuple[Rule, ...] = ("nonzero", "evenodd")
"""pdfium does not tell a clip's rule. Most clips are simple, where both agree; else one after the other is tried."""

Clips = tuple[tuple[Area, ...], ...]


@dataclass(frozen=True)
class _Place:
    """Where an object lies: its container's map to the page, clips, and how deep the forms are nested."""

    matrix: Matrix
    clips: Clips
    depth: int = 0


class PageWalk:
    """One page's walk; afterwards ``drawing.marks`` holds its marks in page points."""

    def __init__(self, page: Any, drawing: Drawing, limits: Limits, clip_rule: Rule) -> None:
        self._page = page
        self._drawing = drawing
        self._limits = limits
        self._clip_rule = clip_rule
        left, low, right, high = drawing.page or (0.0, 0.0, 0.0, 0.0)
        self._side = max(right - left, high - low)
        self._objects = self._commands = 0
        self._known_clips: dict[tuple[bytes, Matrix], tuple[Area, ...]] = {}
        self._text: PageText | None = None
        self.picture_reason = ""
        """Why the page cannot be taken as vectors; empty where it can."""
        self.clipped = False
        """Whether anything on it is clipped."""

    def run(self) -> None:
        """Walks the page."""
        try:
            self._each(_objects_of(self._page), _Place(IDENTITY, ()))
        finally:
            if self._text is not None:
                self._text.close()

    def _each(self, objects: Iterator[Any], place: _Place) -> None:
        for item in objects:
            self._objects += 1
            if self._objects > self._limits.elements:
                raise too_many_elements(self._limits)
            kind = pdfium.FPDFPageObj_GetType(item)
            if kind == pdfium.FPDF_PAGEOBJ_PATH:
                self._path(item, place)
            elif kind == pdfium.FPDF_PAGEOBJ_TEXT:
                self._letters(item, place)
            elif kind == pdfium.FPDF_PAGEOBJ_FORM:
                self._form(item, place)
            elif kind == pdfium.FPDF_PAGEOBJ_IMAGE:
                width, height = ctypes.c_uint(), ctypes.c_uint()
                if pdfium.FPDFImageObj_GetImagePixelSize(item, width, height):
                    refuse_claim(width.value, height.value, self._limits)
                self.picture_reason = "The page holds a picture."
            elif kind == pdfium.FPDF_PAGEOBJ_SHADING:
                self.picture_reason = "The page holds colours that run into each other (gradients)."

    def _form(self, item: Any, place: _Place) -> None:
        if place.depth >= self._limits.nesting:
            raise nested_too_deep(self._limits)
        inner = _Place(
            matmul(place.matrix, _matrix_of(item)),
            (*place.clips, *self._clips(item, place.matrix)),
            place.depth + 1,
        )
        self._each(_objects_of_form(item), inner)

    def _path(self, item: Any, place: _Place) -> None:
        mode, strokes = ctypes.c_int(), ctypes.c_int()
        if not pdfium.FPDFPath_GetDrawMode(item, mode, strokes):
            return
        path = self._geometry(item)
        matrix = matmul(place.matrix, _matrix_of(item))
        if path.empty or determinant(matrix) == 0:
            return
        clips = (*place.clips, *self._clips(item, place.matrix))
        if mode.value != pdfium.FPDF_FILLMODE_NONE:
            colour = self._colour(item, pdfium.FPDFPageObj_GetFillColor)
            rule: Rule = "evenodd" if mode.value == pdfium.FPDF_FILLMODE_ALTERNATE else "nonzero"
            if colour is not None:
                self._drawing.marks.append(Mark(Area(path.moved(matrix), rule), colour, clips))
        if strokes.value:
            colour = self._colour(item, pdfium.FPDFPageObj_GetStrokeColor)
            if colour is not None:
                area = self._stroked(item, path, matrix)
                self._drawing.marks.append(Mark(area, colour, clips))

    def _geometry(self, item: Any) -> Path:
        count = pdfium.FPDFPath_CountSegments(item)
        self._count(count)
        return path_of(pdfium.FPDFPath_GetPathSegment(item, at) for at in range(count))

    def _count(self, segments: int) -> None:
        self._commands += segments
        if self._commands > self._limits.commands:
            raise too_many_commands(self._limits)

    def _stroked(self, item: Any, path: Path, matrix: Matrix) -> Area:
        width, phase = ctypes.c_float(), ctypes.c_float()
        pdfium.FPDFPageObj_GetStrokeWidth(item, width)
        dashes: tuple[float, ...] = ()
        count = pdfium.FPDFPageObj_GetDashCount(item)
        if 0 < count <= self._limits.nesting:
            array = (ctypes.c_float * count)()
            pdfium.FPDFPageObj_GetDashArray(item, array, count)
            pdfium.FPDFPageObj_GetDashPhase(item, phase)
            dashes = tuple(float(each) for each in array)
        if sum(dashes) <= 0 or min(dashes) < 0:
            dashes = ()
        thin = width.value <= 0
        if thin:
            self._drawing.remark(
                "hairlines", f"Lines without a width were taken as {_HAIRLINE} points wide.", "warns"
            )
        stroke = Stroke(
            _HAIRLINE if thin else width.value,
            _CAPS.get(pdfium.FPDFPageObj_GetLineCap(item), "butt"),
            _JOINS.get(pdfium.FPDFPageObj_GetLineJoin(item), "miter"),
            _MITER_LIMIT,
            dashes,
            phase.value,
        )
        if dash_count(path, stroke) > self._limits.regions:
            raise too_many_commands(self._limits)
        area = stroked(path, stroke, matrix, self._side)
        if thin and not area.path.empty:
            self._drawing.unlike.append(area.path.box)
        return area

    def _colour(self, item: Any, getter: Any) -> Colour | None:
        rgba = [ctypes.c_uint() for _ in range(4)]
        if not getter(item, *rgba):
            self.picture_reason = "The page holds a pattern or gradient."
            return None
        red, green, blue, alpha = (each.value / 255 for each in rgba)
        return on_paper((red, green, blue), alpha, WHITE) if alpha >= _INVISIBLE else None

    def _clips(self, item: Any, matrix: Matrix) -> Clips:
        """The item's own clips. The same clip on many items is one value, so that it is worked out once."""
        handle = pdfium.FPDFPageObj_GetClipPath(item)
        count = pdfium.FPDFClipPath_CountPaths(handle) if handle else 0
        found = []
        for at in range(max(count, 0)):
            segments = max(pdfium.FPDFClipPath_CountPathSegments(handle, at), 0)
            self._count(segments)
            path = path_of(pdfium.FPDFClipPath_GetPathSegment(handle, at, i) for i in range(segments))
            key = (path.verbs.tobytes() + path.points.tobytes(), matrix)
            found.append(self._known_clips.setdefault(key, (Area(path.moved(matrix), self._clip_rule),)))
            self.clipped = True
        return tuple(found)

    def _letters(self, item: Any, place: _Place) -> None:
        mode = pdfium.FPDFTextObj_GetTextRenderMode(item)
        if mode == _INVISIBLE_TEXT:
            return
        if self._text is None:
            self._text = PageText(self._page)
        colour = self._colour(item, pdfium.FPDFPageObj_GetFillColor)
        if colour is None:
            return
        letters, missing = self._text.outlines(item)
        if missing == "font":
            self._drawing.remark(
                "text-left-out",
                "The page holds text whose font is not in the file, so it was left out. "
                "Turn the text into outlines (paths) and export it again, or order it as lettering: we can set it.",
            )
            self._drawing.words.append(self._text.words(item))
            pdfium.FPDFPageObj_SetIsActive(item, False)  # nor drawn in a font of ours
        elif missing:
            self.picture_reason = "The page holds text whose letters cannot be taken as outlines."
        clips = (*place.clips, *self._clips(item, place.matrix))
        for path in letters:
            self._count(len(path.verbs))
            self._drawing.marks.append(Mark(Area(path), colour, clips))


def _objects_of(page: Any) -> Iterator[Any]:
    for at in range(pdfium.FPDFPage_CountObjects(page)):
        yield pdfium.FPDFPage_GetObject(page, at)


def _objects_of_form(form: Any) -> Iterator[Any]:
    for at in range(pdfium.FPDFFormObj_CountObjects(form)):
        yield pdfium.FPDFFormObj_GetObject(form, at)


def _matrix_of(item: Any) -> Matrix:
    matrix = pdfium.FS_MATRIX()
    if not pdfium.FPDFPageObj_GetMatrix(item, matrix):
        return IDENTITY
    return (matrix.a, matrix.b, matrix.c, matrix.d, matrix.e, matrix.f)
