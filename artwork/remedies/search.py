"""The search for remedies: proposals from the linear programme, each put through the full check."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np
import shapely

from artwork.axis import Anatomy, study
from artwork.cut import Cut, Placement
from artwork.findings import Check, check
from artwork.findings.lines import flat_requirement
from artwork.findings.wording import GRAIN, about, at_most
from artwork.outline import Outline
from artwork.placing import largest_fit, safe_area
from artwork.refusal import Refusal
from artwork.remedies.programme import MARGIN, Programme, programme
from artwork.remedies.reshaping import background, losses, outline_only, thickened, without
from artwork.remedies.values import Change, Code, Remedy
from artwork.scene import Scene
from artwork.workpiece import Bit, Slat

PLACING = {"off-slat", "edge-land", "keep-out", "round-over", "edge-margin", "end-margin", "hidden"}
"""Findings that another place on the slat can cure."""
NECKS = 2.0
"""Benefit of the doubt for the thinnest line before a larger size is called hopeless."""
PANEL_MARGIN = 6.0
"""Carved ground around art that is left standing, mm (common practice, no source)."""
OFFSET_NOISE = 1e-9
"""Offsets below this, mm, are none."""


@dataclass(frozen=True, eq=False)
class _Art:
    """The outline as it came, or with what is lost anyway left out."""

    outline: Outline
    anatomy: Anatomy
    words: str = ""
    dropped: int = 0
    thinnest: float | None = None  # width of its thinnest line, outline units, where a check has told


class Search:
    """All remedies for one cut. Proposals that keep the outline need no new axis; few others are tried."""

    def __init__(self, cut: Cut, anatomy: Anatomy, slats: Sequence[Slat], bits: Sequence[Bit]) -> None:
        self._cut, self._anatomy = cut, anatomy
        self._slats, self._alike = _distinct(slats, cut.slat)
        self._bits = [bit for bit in bits if bit != cut.bit]
        self._fits: dict[tuple[object, ...], Placement | None] = {}
        self._before = check(cut, anatomy)

    def found(self) -> Iterator[Remedy]:
        """Remedies, the least change first."""
        art = _Art(self._cut.outline, self._anatomy, thinnest=self._thinnest(self._before))
        if self._before.verdict == "will-not-carve":
            yield from self._here(art)
            cleaned = self._cleaned
            if cleaned is not None:
                yield from self._without_losses(cleaned)
            yield from self._with_other_bits(art)
            for slat in self._slats:
                yield from self._on(slat, [art] if cleaned is None else [art, cleaned])
        yield from self._floors(art)

    # ── on the same slat, with the same bit ─────────────────────────────────────────────────────────

    def _here(self, art: _Art) -> Iterator[Remedy]:
        """Moved, resized, thicker or thinner."""
        cut = self._cut_of(art)
        limits, scale = self._programme(cut, art), cut.placement.scale
        if self._ill_placed and scale <= limits.fit:
            moved = replace(cut, placement=self._at(cut, scale))
            yield from self._passes("move", moved, art, "Move it to the middle of the free area")
        wanted = _nearest_size(limits, scale)
        if wanted is not None and wanted != scale:
            resized = replace(cut, placement=self._at(cut, wanted))
            yield from self._passes("resize", resized, art, self._resized(art, wanted))
        yield from self._offset(art, limits)

    def _offset(self, art: _Art, limits: Programme) -> Iterator[Remedy]:
        """Thicker or thinner at the present size, or at the nearest size where that helps."""
        cut = self._cut_of(art)
        if limits.most <= 0 or not np.isfinite(limits.line_required):
            return
        scale = min(cut.placement.scale, limits.most)
        least, most = limits.offsets(scale)
        if least > most:
            low, high = limits.with_offset()
            if low > high or high <= 0:
                return
            scale = min(max(scale, low * (1 + MARGIN)), high)
            least, most = limits.offsets(scale)
        offset = min(max(0.0, least), most)
        if abs(offset) < OFFSET_NOISE:
            return
        offset += np.sign(offset) * (2 * art.anatomy.error * scale + OFFSET_NOISE)
        outline = thickened(art.outline, art.anatomy, offset / scale)
        placed = replace(cut, outline=outline, placement=self._at(cut, scale))
        words = f"{'Thicken' if offset > 0 else 'Thin'} all its lines by {at_most(2 * abs(offset))}"
        code: Code = "thicken" if offset > 0 else "thin"
        if scale != cut.placement.scale:
            code = "resize-and-thicken" if offset > 0 else "resize-and-thin"
            words = f"{self._resized(art, scale)}, and {words[0].lower()}{words[1:]}"
        yield from self._passes(code, placed, art, words, thickening=float(offset))

    @property
    def _ill_placed(self) -> bool:
        return any(finding.kind in PLACING for finding in self._before.findings)

    def _cut_of(self, art: _Art) -> Cut:
        """The present cut with that art, which stays where it was on the slat."""
        if art.outline is self._cut.outline:
            return self._cut
        placement = _kept_in_place(self._cut, art.anatomy)
        return replace(self._cut, outline=art.outline, placement=placement)

    def _at(self, cut: Cut, scale: float) -> Placement:
        """The present place if the art lies well there at that scale, else that of the largest fit."""
        here = replace(cut.placement, scale=scale)
        fit = self._fit(cut)
        if fit is None:
            return here
        if not self._ill_placed and (scale <= cut.placement.scale or self._lies_well(cut, here)):
            return here
        return replace(here, x=fit.x, y=fit.y)

    def _lies_well(self, cut: Cut, placement: Placement) -> bool:
        hull = placement.place(self._anatomy.hull, self._anatomy.centre)
        return bool(safe_area(cut.slat, cut.allowances).contains(shapely.Polygon(hull)))

    def _resized(self, art: _Art, scale: float) -> str:
        width = art.anatomy.size[0]
        now = self._cut.placement.scale * width
        return f"Make it {about(scale * width)} wide instead of {about(now)}"

    def _programme(self, cut: Cut, art: _Art) -> Programme:
        fit = self._fit(cut)
        return programme(Scene(cut, art.anatomy), 0.0 if fit is None else fit.scale)

    def _hopeless(self, cut: Cut, art: _Art, most: float) -> bool:
        """Whether the thinnest line of the art as it is would be too thin even at the largest scale.

        A quick look at what the full check found spares the programme; shrinking cures no thin line. A neck
        that is thin at a small size may be none at a large one, hence the doubt.
        """
        least = art.thinnest if art.thinnest is not None else np.inf
        return bool(least * most * NECKS < flat_requirement(Scene(cut, art.anatomy)))

    def _fit(self, cut: Cut) -> Placement | None:
        """Largest fit on the cut's slat; looked for once for outlines of the same box."""
        key = (cut.outline.bounds, *_shape_of(cut.slat))
        if key not in self._fits:
            turn, mirrored = cut.placement.rotation_deg, cut.placement.mirrored
            try:
                self._fits[key] = largest_fit(cut.outline, cut.slat, cut.allowances, turn, mirrored)
            except Refusal:
                self._fits[key] = None
        return self._fits[key]

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
        art = _Art(outline, study(outline), words, count)
        return replace(art, thinnest=self._thinnest(check(self._cut_of(art), art.anatomy)))

    def _thinnest(self, judged: Check) -> float | None:
        """Width of the thinnest line that a check of the art at its present size has told, outline units."""
        width = judged.figures.least_line
        return None if width is None else (width + GRAIN) / self._cut.placement.scale

    def _without_losses(self, art: _Art) -> Iterator[Remedy]:
        """Left out and nothing else; or, if that is not enough, resized or thickened besides."""
        alone = list(self._passes("drop-parts", self._cut_of(art), art, ""))
        yield from alone or self._here(art)

    # ── other bits, other slats ─────────────────────────────────────────────────────────────────────

    def _with_other_bits(self, art: _Art) -> Iterator[Remedy]:
        for bit in self._bits:
            cut = replace(self._cut, bit=bit)
            fit = self._fit(cut)
            if fit is None or self._hopeless(cut, art, fit.scale):
                continue
            wanted = _nearest_size(self._programme(cut, art), cut.placement.scale)
            if wanted is None:
                continue
            words = f"Use the bit '{bit.key}'"
            if wanted != cut.placement.scale:
                resized = self._resized(art, wanted)
                words += f", and {resized[0].lower()}{resized[1:]}"
            placed = replace(cut, placement=self._at(cut, wanted))
            yield from self._passes("other-bit", placed, art, words, bit=bit.key)

    def _on(self, slat: Slat, arts: list[_Art]) -> Iterator[Remedy]:
        """Another slat, as large as fits; with the present bit and the art as it is if that will do."""
        for art in arts:
            for bit in (self._cut.bit, *self._bits):
                cut = replace(self._cut, outline=art.outline, slat=slat, bit=bit)
                fit = self._fit(cut)
                if fit is None:
                    return
                if self._hopeless(cut, art, fit.scale):
                    continue
                limits = self._programme(cut, art)
                if limits.least > limits.most:
                    continue
                cut = replace(cut, placement=replace(fit, scale=limits.most))
                other = None if bit == self._cut.bit else bit.key
                words = self._on_words(slat, other, limits.most * art.anatomy.size[0])
                passed = list(self._passes("other-slat", cut, art, words, slat=slat.key, bit=other))
                yield from passed
                if passed:
                    return

    def _on_words(self, slat: Slat, bit: str | None, width: float) -> str:
        words = f"Put it on the slat '{slat.name}', {about(width)} wide"
        alike = self._alike[slat.key]
        if alike:
            words += f" (or on {'one' if alike == 1 else f'any of {alike}'} of the same shape)"
        return words if bit is None else f"{words}, with the bit '{bit}'"

    # ── art that is wider than the bit reaches ──────────────────────────────────────────────────────

    def _floors(self, art: _Art) -> Iterator[Remedy]:
        if self._before.figures.floor_area <= 0:
            return
        cut = self._cut
        scale = cut.placement.scale
        limits = self._programme(cut, art)
        smaller = min(limits.floor * (1 - MARGIN), scale)
        if limits.least <= smaller:
            placed = replace(cut, placement=self._at(cut, smaller))
            words = f"{self._resized(art, smaller)}, without flat bottoms"
            yield from self._passes("no-floor", placed, art, words)
        for bit in self._bits:
            wider = replace(cut, bit=bit)
            limits = self._programme(wider, art)
            if limits.least <= scale <= limits.floor:
                words = f"Use the bit '{bit.key}', which reaches everywhere"
                yield from self._passes("other-bit", wider, art, words, bit=bit.key)
        needed = flat_requirement(Scene(cut, self._anatomy))
        if np.isfinite(needed):
            line = (needed + 2 * self._anatomy.error * scale) * (1 + MARGIN)
            hollow = replace(cut, outline=outline_only(cut.outline, self._anatomy, line / scale))
            words = f"Carve only its outline, as a line {about(line)} wide"
            yield from self._passes("outline-only", hollow, art, words)
        ground = replace(cut, outline=background(cut.outline, self._anatomy, PANEL_MARGIN / scale))
        words = "Carve the ground around it and let the art stand"
        yield from self._passes("carve-background", ground, art, words)

    # ── the full check ──────────────────────────────────────────────────────────────────────────────

    def _passes(
        self,
        code: Code,
        cut: Cut,
        art: _Art,
        words: str,
        *,
        thickening: float = 0.0,
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
            words = f"{art.words}, and {words[0].lower()}{words[1:]}" if words else art.words
            code = "drop-parts" if slat is None else code
        factor = cut.placement.scale / self._cut.placement.scale
        figures = judged.figures
        change = Change(figures.width, figures.height, factor, thickening, slat, bit, art.dropped)
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


def _nearest_size(limits: Programme, scale: float) -> float | None:
    """The makeable scale nearest the present one."""
    least, most = limits.least * (1 + MARGIN), limits.most * (1 - MARGIN)
    return None if least > most else min(max(scale, least), most)


def _kept_in_place(cut: Cut, anatomy: Anatomy) -> Placement:
    """The placement under which what is left of an outline stays where it was on the slat."""
    x, y = cut.placement.place(anatomy.centre, cut.centre).tolist()
    return replace(cut.placement, x=x, y=y)


def _outcome(judged: Check) -> str:
    return "then it carves" if judged.verdict == "carves" else "then it carves, with remarks"
