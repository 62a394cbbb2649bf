"""The search for remedies: proposals from quick looks, each put through the full check as it is told."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace
from functools import cached_property
from math import inf

import numpy as np
import shapely

from artwork import tooling
from artwork.axis import Anatomy, study
from artwork.change import Change, Code
from artwork.curves import Floats
from artwork.cut import Cut, Placement
from artwork.errors import EngineError
from artwork.findings import Check, check
from artwork.findings.lines import flat_requirement
from artwork.findings.wording import GRAIN, about
from artwork.outline import Outline
from artwork.placing import Hull, fit, hull_of, safe_area
from artwork.remedies import resizing
from artwork.remedies.looking import Look, Looking
from artwork.remedies.reshaping import background, losses, outline_only, thickened, without
from artwork.remedies.resizing import CLEAR, DOUBT, Reach
from artwork.remedies.sizes import extent, finest
from artwork.remedies.told import ENTRY, Told, at_the_least, at_the_most, finer, growth
from artwork.remedies.values import Remedy
from artwork.scene import NEGLIGIBLE, Scene
from artwork.tooling import MM_PER_INCH
from artwork.workpiece import Bit, Slat

PLACING = {"off-slat", "edge-land", "keep-out", "round-over", "edge-margin", "end-margin", "hidden"}
"""Findings that another place on the slat can cure."""
PANEL_MARGIN = 6.0
"""Carved ground around art that is left standing, mm (common practice, no source)."""
FREE_TURNS = (15.0, -15.0, 30.0, -30.0, 45.0, -45.0, 60.0, -60.0, 75.0, -75.0)
"""Turns that are tried where a quarter turn does not keep the size, degrees, the least first."""
AS_LARGE = 0.999
"""A size is kept where no more than this share of it is."""
LEAST_KEPT = 0.6
"""Art is not made smaller than this share of its size to be rid of flat bottoms."""
OFFSET_ROUNDS = 4
"""So often is an offset that is not enough made larger."""
TOLD_OFFSET = 0.02
"""What line and land together must have to spare, mm, for an offset to be told in round numbers."""
SPAN_TOLD = 1.02
"""The span of sizes is told where its end is more than this times its beginning."""


@dataclass(frozen=True, eq=False)
class _Art:
    """The outline as it came, or with what is lost anyway left out."""

    outline: Outline
    anatomy: Anatomy
    hull: Hull
    words: str = ""
    dropped: int = 0
    thinnest: float = inf  # width of a line that more size alone can cure, outline units


@dataclass(frozen=True, eq=False)
class _Sized:
    """A cut at a carving size.

    Attributes:
        cut: at that size.
        width: the size as it is told; ``None`` where it is the present one.
        widest: the larger end of the span of sizes that carve, where that is worth telling.
    """

    cut: Cut
    width: Told | None
    widest: Told | None = None


class Search:
    """All remedies for one cut. Proposals that keep the outline need no new axis; few others are tried."""

    def __init__(
        self,
        cut: Cut,
        anatomy: Anatomy,
        slats: Sequence[Slat],
        bits: Sequence[Bit],
        failed: Callable[[str, Exception], None],
    ) -> None:
        self._failed = failed
        self._cut, self._anatomy = cut, anatomy
        self._slats, self._alike = _distinct(slats, cut.slat)
        self._bits = [bit for bit in bits if bit != cut.bit]
        self._fits: dict[tuple[object, ...], Placement | None] = {}
        self._before = check(cut, anatomy)

    def found(self) -> Iterator[Remedy]:
        """Remedies, the least change first; proposals that fail are left out and told of."""
        thinnest = self._before.figures.least_line
        width = inf if thinnest is None else (thinnest + GRAIN) / self._cut.placement.scale
        art = _Art(self._cut.outline, self._anatomy, hull_of(self._cut.outline), thinnest=width)
        for name, proposals in self._ways(art):
            try:
                yield from proposals
            except MemoryError:
                raise
            except Exception as error:  # noqa: BLE001 - one proposal is not worth the others, nor the order
                self._failed(name, error)

    def _ways(self, art: _Art) -> Iterator[tuple[str, Iterator[Remedy]]]:
        if self._before.verdict == "will-not-carve":
            yield "resize", self._moved_or_resized(art)
            yield "thicken", self._offset(art)
            yield "turn", self._turned(art)
            yield "drop-parts", self._without_losses()
            yield "other-bit", self._with_other_bits(art)
            yield "other-slat", self._elsewhere(art)
        if self._before.figures.floor_area > 0:
            yield "other-bit", self._with_reaching_bits(art)
            yield "outline-only", self._outline_only(art)
            yield "carve-background", self._background(art)
            yield "no-floor", self._without_floor(art)

    # ── on the same slat, with the same bit ─────────────────────────────────────────────────────────

    def _here(self, art: _Art) -> Iterator[Remedy]:
        """Moved, resized, thicker or thinner."""
        yield from self._moved_or_resized(art)
        yield from self._offset(art)

    def _moved_or_resized(self, art: _Art) -> Iterator[Remedy]:
        cut = self._cut_of(art)
        scale, most = cut.placement.scale, self._most(cut, art)
        if self._ill_placed and scale <= most:
            moved = replace(cut, placement=self._at(cut, art, scale))
            yield from self._passes("move", moved, art, "Move it to the middle of the free area")
        sized = self._sized(cut, art)
        if sized is not None and sized.width is not None:
            yield from self._passes("resize", sized.cut, art, self._resized(sized.width, sized.cut, art))

    def _offset(self, art: _Art) -> Iterator[Remedy]:
        """Thicker or thinner by the least that will do, at the present size or at the nearest where it helps."""
        cut = self._cut_of(art)
        most, now = self._most(cut, art), cut.placement.scale
        if most <= 0 or (art.dropped == 0 and self._too_little_of_both(most)):
            return
        scale = min(now, most)
        for _ in range(OFFSET_ROUNDS):
            sized = _Sized(cut, None)
            if scale != now:
                found = self._told_size(cut, art, Reach(scale, most))
                if found is None:
                    return
                sized = found
            seen = Look(sized.cut, art.anatomy)
            if not np.isfinite(seen.line_required) or not seen.stops:
                return
            least, greatest = seen.offsets(seen.scale)
            if least <= 0 <= greatest:  # neither is short: something else stops it
                return
            if least + TOLD_OFFSET <= greatest:
                passed = list(self._offset_at(art, sized, (least, greatest)))
                yield from passed or (self._smaller_and_thicker(art, least) if least > 0 else ())
                return
            scale = seen.needed_with_offset(TOLD_OFFSET)
            if scale > most:
                return

    def _smaller_and_thicker(self, art: _Art, wanted: float) -> Iterator[Remedy]:
        """Made smaller by what thicker lines take at the art's edge, where it fills the room there is."""
        cut = self._cut_of(art)
        across, along = extent(art.anatomy, cut)
        scale = min(cut.placement.scale, self._most(cut, art))
        for share in range(1, OFFSET_ROUNDS + 1):
            side = min(across, along) * scale
            smaller = scale * (1 - min(2 * (wanted + TOLD_OFFSET) * share / side, 1 - LEAST_KEPT))
            sized = self._told_size(cut, art, Reach(smaller, smaller))
            if sized is None:
                return
            seen = Look(sized.cut, art.anatomy)
            bounds = seen.offsets(seen.scale)
            if not 0 < bounds[0] <= bounds[1] - TOLD_OFFSET:
                return
            passed = list(self._offset_at(art, sized, bounds))
            yield from passed
            if passed:
                return

    def _too_little_of_both(self, most: float) -> bool:
        """Whether even at the largest scale the tightest line and land have less than both need."""
        told = self._before.figures
        if told.least_line is None or told.least_land is None or told.least_land_required is None:
            return False
        has = (told.least_line + told.least_land + 2 * GRAIN) * most / self._cut.placement.scale
        return has * DOUBT < told.least_line_required + told.least_land_required

    def _offset_at(self, art: _Art, sized: _Sized, bounds: tuple[float, float]) -> Iterator[Remedy]:
        """Tries an offset, a little more each time it is not enough."""
        error = Scene(sized.cut, art.anatomy).error
        error = error if error > NEGLIGIBLE else 0.0
        thicker = bounds[0] > 0
        wanted, room = (bounds[0], bounds[1]) if thicker else (-bounds[1], -bounds[0])
        for _ in range(OFFSET_ROUNDS):
            told = growth(2 * (wanted + error), 2 * (room + 2 * error))
            if told is None:
                return
            offset = told.mm / 2 if thicker else -told.mm / 2
            found = self._with_offset(sized.cut, art, offset)
            if found is None:
                return
            proposed, changed = found
            seen = Look(proposed, changed.anatomy)
            if not seen.stops:
                words = f"{'Thicken' if thicker else 'Thin'} all its lines by {told.words}"
                code: Code = "thicken" if thicker else "thin"
                if sized.width is not None:
                    code = "resize-and-thicken" if thicker else "resize-and-thin"
                    words = f"{self._resized(sized.width, sized.cut, art)}, and {_lower(words)}"
                yield from self._passes(code, proposed, changed, words, thickening=offset)
                return
            least, greatest = seen.offsets(seen.scale)
            wanted += max(least if thicker else -greatest, GRAIN / 2)

    def _with_offset(self, cut: Cut, art: _Art, offset: float) -> tuple[Cut, _Art] | None:
        """The cut with every edge moved outwards by ``offset`` mm; ``None`` where nothing or no room is left."""
        outline = thickened(art.outline, art.anatomy, offset / cut.placement.scale)
        if not outline.contours:
            return None
        changed = replace(art, outline=outline, anatomy=study(outline), hull=hull_of(outline))
        proposed = replace(cut, outline=outline, placement=self._kept(cut, changed))
        if cut.placement.scale > self._most(proposed, changed):
            return None
        return replace(proposed, placement=self._at(proposed, changed, cut.placement.scale)), changed

    @property
    def _ill_placed(self) -> bool:
        return any(finding.kind in PLACING for finding in self._before.findings)

    def _cut_of(self, art: _Art) -> Cut:
        """The present cut with that art, which stays where it was on the slat."""
        if art.outline is self._cut.outline:
            return self._cut
        return replace(self._cut, outline=art.outline, placement=self._kept(self._cut, art))

    @staticmethod
    def _kept(cut: Cut, art: _Art) -> Placement:
        """The placement under which what is left of an outline stays where it was on the slat."""
        x, y = cut.placement.place(art.anatomy.centre, cut.centre).tolist()
        return replace(cut.placement, x=x, y=y)

    # ── sizes ───────────────────────────────────────────────────────────────────────────────────────

    def _most(self, cut: Cut, art: _Art) -> float:
        """Largest scale on the cut's slat, 0 without room."""
        largest = self._fit(cut, art)
        return 0.0 if largest is None else largest.scale

    def _sized(self, cut: Cut, art: _Art) -> _Sized | None:
        """The cut at the carving size nearest its present one, told so that it may be typed in."""
        most, now = self._most(cut, art), cut.placement.scale
        if most <= 0 or self._hopeless(cut, art, most):
            return None
        at = Looking(cut, art.anatomy, lambda scale: self._at(cut, art, scale))
        pixels = min(most, finest(cut, art.anatomy))
        reach = resizing.nearest(at, now, pixels)
        if reach is None and pixels < most:  # coarse pixels only warn
            reach = resizing.nearest(at, now, most)
        if reach is None:
            return None
        sized = self._told_size(cut, art, reach)
        if sized is None or reach.most < reach.nearest * SPAN_TOLD or at(reach.most).stops:
            return sized
        across = extent(art.anatomy, cut)[0]
        return replace(sized, widest=at_the_most(reach.nearest * across, reach.most * across))

    def _told_size(self, cut: Cut, art: _Art, reach: Reach) -> _Sized | None:
        """The nearest size of a span as it is told: both of its numbers carve."""
        if reach.nearest == cut.placement.scale:
            return _Sized(replace(cut, placement=self._at(cut, art, reach.nearest)), None)
        across = extent(art.anatomy, cut)[0]
        low, high = reach.nearest * across, reach.most * across
        told = at_the_least(low + ENTRY, high) if low + ENTRY < high else at_the_most(0.0, high)
        if told is None:
            return None
        by_rule = replace(cut, placement=self._at(cut, art, told.inches * MM_PER_INCH / across))
        if Look(by_rule, art.anatomy).stops:
            told = finer(told)
        return _Sized(replace(cut, placement=self._at(cut, art, told.mm / across)), told)

    def _at(self, cut: Cut, art: _Art, scale: float) -> Placement:
        """The present place if the art lies well there at that scale, else that of the largest fit."""
        here = replace(cut.placement, scale=scale)
        largest = self._fit(cut, art)
        if largest is None or self._stays(cut, art, here):
            return here
        return replace(here, x=largest.x, y=largest.y)

    def _stays(self, cut: Cut, art: _Art, placement: Placement) -> bool:
        if cut.slat is not self._cut.slat or self._ill_placed:
            return False
        now = self._cut.placement
        if placement.scale <= now.scale and placement.rotation_deg == now.rotation_deg:
            return True
        hull = placement.place(art.anatomy.hull, art.anatomy.centre)
        return bool(self._area(cut.slat).contains(shapely.Polygon(hull)))

    def _area(self, slat: Slat) -> shapely.Polygon | shapely.MultiPolygon:
        return safe_area(slat, self._cut.allowances)

    def _resized(self, width: Told, placed: Cut, art: _Art) -> str:
        """The words for a size, and for the place where that is another."""
        now = self._cut.placement.scale * extent(art.anatomy, self._cut)[0]
        words = f"Make it {width.words} wide instead of {about(now)}"
        kept, there = self._kept(self._cut, art), placed.placement
        moved = np.hypot(there.x - kept.x, there.y - kept.y) > GRAIN
        return f"{words} and move it to the middle of the free area" if moved else words

    def _hopeless(self, cut: Cut, art: _Art, most: float) -> bool:
        """Whether the thinnest line of the art as it is would be too thin even at the largest scale."""
        return bool(art.thinnest * most * DOUBT < flat_requirement(Scene(cut, art.anatomy)))

    def _fit(self, cut: Cut, art: _Art) -> Placement | None:
        """Largest fit on the cut's slat; looked for once for outlines of the same box."""
        turn, mirrored = cut.placement.rotation_deg, cut.placement.mirrored
        key = (cut.outline.bounds, turn, mirrored, *_shape_of(cut.slat))
        if key not in self._fits:
            try:
                self._fits[key] = fit(art.hull, cut.slat, cut.allowances, turn, mirrored)
            except EngineError:
                self._fits[key] = None
        return self._fits[key]

    # ── turned ──────────────────────────────────────────────────────────────────────────────────────

    def _turned(self, art: _Art) -> Iterator[Remedy]:
        """A quarter turn; where that does not keep the size, the least turn that does."""
        cut = self._cut
        if self._hopeless(cut, art, self._widest_fit(art)):
            return
        quarter = self._by_turning(art, 90.0)
        yield from quarter
        if quarter and quarter[0].change.size_factor >= AS_LARGE:
            return
        for turn in FREE_TURNS:
            found = self._by_turning(art, turn, resized=False)
            yield from found
            if found:
                return

    def _by_turning(self, art: _Art, turn: float, *, resized: bool = True) -> list[Remedy]:
        rotation = (self._cut.placement.rotation_deg + turn + 180) % 360 - 180
        cut = replace(self._cut, placement=replace(self._cut.placement, rotation_deg=rotation))
        most, scale = self._most(cut, art), cut.placement.scale
        if most <= 0 or (most < scale and not resized):
            return []
        if resized:
            sized = self._sized(cut, art)
        else:
            placed = replace(cut, placement=self._at(cut, art, scale))
            sized = None if Look(placed, art.anatomy).stops else _Sized(placed, None)
        if sized is None:
            return []
        words = f"Turn it by {abs(turn):.0f}° {'to the left' if turn > 0 else 'to the right'}"
        if sized.width is not None:
            words += f" and make it {sized.width.words} wide as it then lies"
        return list(self._passes("turn", sized.cut, art, words, turn=turn))

    def _widest_fit(self, art: _Art) -> float:
        """Bound on the largest scale at any turn: the art's narrowest way across the slat's widest."""
        area = self._area(self._cut.slat)
        if area.is_empty:
            return 0.0
        widest = 2 * shapely.minimum_bounding_radius(area)
        narrow = shapely.minimum_rotated_rectangle(area)
        sides = np.hypot(*np.diff(shapely.get_coordinates(narrow)[:3], axis=0).T)
        art_sides = np.hypot(*np.diff(_rectangle_of(art.hull.points)[:3], axis=0).T)
        return float(min(sides.min() / art_sides.min(), widest / art_sides.max()))

    # ── what is lost anyway left out ────────────────────────────────────────────────────────────────

    @cached_property
    def _cleaned(self) -> _Art | None:
        """The art without parts that vanish and islands that break out; ``None`` where that is too much."""
        parts, islands = losses(Scene(self._cut, self._anatomy))
        outline = without(self._cut.outline, self._anatomy, parts, islands)
        if outline is None:
            return None
        count = len(parts) + len(islands)
        words = f"Leave out {'the part that is' if count == 1 else f'the {count} parts that are'} lost"
        return _Art(outline, study(outline), hull_of(outline), words, count, self._staying_thin)

    @cached_property
    def _staying_thin(self) -> float:
        """Width of the thinnest line that leaving out what is lost does not help, outline units.

        Lines grow wider where an island beside them goes; others stay as they are.
        """
        gone = [each.place for each in self._before.findings if each.kind in ("counter", "fleck")]
        widths = [
            each.measured + GRAIN
            for each in self._before.findings
            if each.kind == "line" and all(each.place.distance(place) > each.measured for place in gone)
        ]
        return min(widths, default=inf) / self._cut.placement.scale

    def _without_losses(self) -> Iterator[Remedy]:
        """Left out and nothing else; or, if that is not enough, resized or thickened besides."""
        most = self._most(self._cut, _Art(self._cut.outline, self._anatomy, hull_of(self._cut.outline)))
        needed = flat_requirement(Scene(self._cut, self._anatomy))
        if self._staying_thin * most * DOUBT < needed or self._cleaned is None:
            return
        alone = list(self._passes("drop-parts", self._cut_of(self._cleaned), self._cleaned, ""))
        yield from alone or self._here(self._cleaned)

    # ── other bits, other slats ─────────────────────────────────────────────────────────────────────

    def _with_other_bits(self, art: _Art) -> Iterator[Remedy]:
        for bit in self._bits:
            sized = self._sized(replace(self._cut, bit=bit), art)
            if sized is None:
                continue
            words = f"Use the bit '{bit.key}'"
            if sized.width is not None:
                words += f", and {_lower(self._resized(sized.width, sized.cut, art))}"
            yield from self._passes("other-bit", sized.cut, art, words, bit=bit.key)

    def _elsewhere(self, art: _Art) -> Iterator[Remedy]:
        """Other slats; without what is lost anyway only where no slat carries all of it."""
        whole = [remedy for slat in self._slats for remedy in self._of_art_on(slat, art)]
        yield from whole
        if whole:
            return
        for slat in self._slats:
            bare = replace(self._cut, slat=slat)
            needed = flat_requirement(Scene(bare, art.anatomy))
            hopeless = self._staying_thin * self._most(bare, art) * DOUBT < needed
            if not hopeless and self._cleaned is not None:
                yield from self._of_art_on(slat, self._cleaned)

    def _of_art_on(self, slat: Slat, art: _Art) -> Iterator[Remedy]:
        """At the nearest size that carves there; with the present bit if possible."""
        for bit in (self._cut.bit, *self._bits):
            cut = replace(self._cut, outline=art.outline, slat=slat, bit=bit)
            sized = self._sized(cut, art)
            if sized is None:
                continue
            other = None if bit == self._cut.bit else bit.key
            words = self._on_words(slat, other, sized)
            passed = list(self._passes("other-slat", sized.cut, art, words, slat=slat.key, bit=other))
            yield from passed
            if passed:
                return

    def _on_words(self, slat: Slat, bit: str | None, sized: _Sized) -> str:
        alike = self._alike[slat.key]
        where = f"the slat '{slat.name}'"
        if alike:
            where += f" (or on {'one' if alike == 1 else f'any of {alike}'} of the same shape)"
        size = "at its present size" if sized.width is None else f"{sized.width.words} wide"
        words = f"Put it on {where}, {size}"
        if bit is not None:
            words += f", with the bit '{bit}'"
        return words if sized.widest is None else f"{words}, or up to {sized.widest.words} wide"

    # ── art that is wider than the bit reaches ──────────────────────────────────────────────────────

    def _with_reaching_bits(self, art: _Art) -> Iterator[Remedy]:
        cut, scale = self._cut, self._cut.placement.scale
        for bit in self._bits:
            wider = replace(cut, bit=bit)
            if self._floor_scale(wider) >= scale and not Look(wider, self._anatomy).stops:
                words = f"Use the bit '{bit.key}', which reaches everywhere"
                yield from self._passes("other-bit", wider, art, words, bit=bit.key)

    def _outline_only(self, art: _Art) -> Iterator[Remedy]:
        cut, scale = self._cut, self._cut.placement.scale
        needed = flat_requirement(Scene(cut, self._anatomy))
        line = growth(needed + 2 * self._anatomy.error * scale, inf) if np.isfinite(needed) else None
        if line is not None:
            hollow = replace(cut, outline=outline_only(cut.outline, self._anatomy, line.mm / scale))
            words = f"Carve only its outline, as a line {line.words} wide"
            yield from self._passes("outline-only", hollow, art, words)

    def _background(self, art: _Art) -> Iterator[Remedy]:
        cut, scale = self._cut, self._cut.placement.scale
        ground = replace(cut, outline=background(cut.outline, self._anatomy, PANEL_MARGIN / scale))
        words = "Carve the ground around it and let the art stand"
        yield from self._passes("carve-background", ground, art, words)

    def _floor_scale(self, cut: Cut) -> float:
        """Scale up to which the cut's bit leaves no flat bottom."""
        reach = tooling.groove_width(Scene(cut, self._anatomy).limit, cut.bit)
        return float(reach / (2 * (self._anatomy.lines.peak.max() + self._anatomy.error)))

    def _without_floor(self, art: _Art) -> Iterator[Remedy]:
        """So much smaller that no bottom is flat, where most of the size is kept."""
        cut, scale = self._cut, self._cut.placement.scale
        smaller = self._floor_scale(cut) * (1 - CLEAR)
        if not LEAST_KEPT * scale <= smaller < scale:
            return
        across = extent(art.anatomy, cut)[0]
        told = at_the_most(LEAST_KEPT * scale * across, smaller * across)
        if told is None:
            return
        placed = replace(cut, placement=self._at(cut, art, told.mm / across))
        yield from self._passes(
            "no-floor", placed, art, f"{self._resized(told, placed, art)}, without flat bottoms"
        )

    # ── the full check ──────────────────────────────────────────────────────────────────────────────

    def _passes(
        self,
        code: Code,
        cut: Cut,
        art: _Art,
        words: str,
        *,
        thickening: float = 0.0,
        turn: float = 0.0,
        slat: str | None = None,
        bit: str | None = None,
    ) -> Iterator[Remedy]:
        """The remedy, if the proposed cut carves."""
        if not cut.outline.contours:
            return
        anatomy = art.anatomy if cut.outline is art.outline else study(cut.outline)
        judged = check(cut, anatomy)
        if judged.verdict == "will-not-carve":
            return
        if art.words:
            words = f"{art.words}, and {_lower(words)}" if words else art.words
            code = "drop-parts" if slat is None else code
        factor = cut.placement.scale / self._cut.placement.scale
        figures = judged.figures
        change = Change(figures.width, figures.height, factor, thickening, turn, slat, bit, art.dropped)
        yield Remedy(code, f"{words}: {_outcome(judged)}.", cut, change, judged, anatomy)


def _distinct(slats: Sequence[Slat], present: Slat) -> tuple[list[Slat], dict[str, int]]:
    """Slats of other shapes than the present one, each shape once, and how many more of each there are."""
    seen = {_shape_of(present): present.key}
    found: list[Slat] = []
    alike: dict[str, int] = {}
    for slat in slats:
        shape = _shape_of(slat)
        if shape in seen:
            if seen[shape] in alike:
                alike[seen[shape]] += 1
            continue
        seen[shape], alike[slat.key] = slat.key, 0
        found.append(slat)
    return found, alike


def _shape_of(slat: Slat) -> tuple[object, ...]:
    """All of a slat that a carving depends on."""
    keep_outs = tuple((each.shape.wkb, each.free_depth) for each in slat.keep_outs)
    size = (slat.thickness, slat.grain_deg, slat.round_over, slat.mill_radius)
    return slat.outline.wkb, keep_outs, size


def _rectangle_of(points: Floats) -> Floats:
    """Corners of the smallest rectangle around points."""
    return np.asarray(shapely.get_coordinates(shapely.minimum_rotated_rectangle(shapely.multipoints(points))))


def _lower(words: str) -> str:
    return f"{words[0].lower()}{words[1:]}"


def _outcome(judged: Check) -> str:
    return "then it carves" if judged.verdict == "carves" else "then it carves, with remarks"
