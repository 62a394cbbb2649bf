"""The search for remedies: proposals from the linear programme, each put through the full check."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace
from functools import cached_property

import numpy as np

from artwork import tooling
from artwork.axis import Anatomy, study
from artwork.cut import Cut, Placement
from artwork.findings import Check, check
from artwork.findings.lines import flat_requirement, judge_lines
from artwork.findings.wording import at_most
from artwork.outline import Outline
from artwork.placing import largest_fit
from artwork.refusal import Refusal
from artwork.remedies.programme import MARGIN, Programme, programme
from artwork.remedies.reshaping import background, outline_only, thickened, without_parts
from artwork.remedies.values import Change, Code, Remedy
from artwork.scene import Scene
from artwork.workpiece import Bit, Slat

PLACING = {"off-slat", "edge-land", "keep-out", "round-over", "edge-margin", "end-margin", "hidden"}
"""Findings that another place on the slat can cure."""
PANEL_MARGIN = 6.0
"""Carved ground around art that is left standing, mm (common practice, no source)."""


class Search:
    """All remedies for one cut. Proposals that keep the outline need no new axis; few others are tried."""

    def __init__(self, cut: Cut, anatomy: Anatomy, slats: Sequence[Slat], bits: Sequence[Bit]) -> None:
        self._cut, self._anatomy = cut, anatomy
        self._slats = [slat for slat in slats if slat.key != cut.slat.key]
        self._bits = [bit for bit in bits if bit != cut.bit]
        self._fits: dict[tuple[object, ...], Placement | None] = {}
        self._before = check(cut, anatomy)

    def found(self) -> Iterator[Remedy]:
        """Remedies, the least change first."""
        if self._before.verdict == "will-not-carve":
            yield from self._same_art()
            yield from self._reshaped()
            yield from self._elsewhere()
        yield from self._floors()

    # ── the same art, moved or resized ──────────────────────────────────────────────────────────────

    def _same_art(self) -> Iterator[Remedy]:
        cut, limits = self._cut, self._limits
        scale = cut.placement.scale
        if self._ill_placed and scale <= limits.fit:
            moved = self._at(cut, scale)
            yield from self._passes(
                "move", replace(cut, placement=moved), "Move it to the middle of the free area"
            )
        wanted = self._nearest_size(limits, scale)
        if wanted is not None and wanted != scale:
            resized = replace(cut, placement=self._at(cut, wanted))
            yield from self._passes("resize", resized, self._resized("Make it", wanted))

    @property
    def _ill_placed(self) -> bool:
        return any(finding.kind in PLACING for finding in self._before.findings)

    @cached_property
    def _limits(self) -> Programme:
        return self._programme(self._cut)

    def _programme(self, cut: Cut) -> Programme:
        fit = self._fit(cut)
        return programme(Scene(cut, self._anatomy), 0.0 if fit is None else fit.scale)

    def _fit(self, cut: Cut) -> Placement | None:
        """Largest fit on the cut's slat; the same for slats of the same shape."""
        placement = cut.placement
        key = (
            cut.slat.outline.wkb,
            tuple((each.shape.wkb, each.free_depth) for each in cut.slat.keep_outs),
            (cut.slat.round_over, cut.slat.mill_radius, cut.slat.grain_deg),
        )
        if key not in self._fits:
            try:
                self._fits[key] = largest_fit(
                    cut.outline, cut.slat, cut.allowances, placement.rotation_deg, placement.mirrored
                )
            except Refusal:
                self._fits[key] = None
        return self._fits[key]

    @staticmethod
    def _nearest_size(limits: Programme, scale: float) -> float | None:
        """The makeable scale nearest the present one."""
        least, most = limits.least * (1 + MARGIN), limits.most * (1 - MARGIN)
        return None if least > most else min(max(scale, least), most)

    def _at(self, cut: Cut, scale: float) -> Placement:
        """The present place if the art lies well there, else that of the largest fit."""
        fit = self._fit(cut)
        if fit is None or not (self._ill_placed or scale > cut.placement.scale):
            return replace(cut.placement, scale=scale)
        return replace(cut.placement, x=fit.x, y=fit.y, scale=scale)

    def _resized(self, what: str, scale: float) -> str:
        now = self._cut.placement.scale * self._anatomy.size[0]
        return f"{what} {_width(scale * self._anatomy.size[0])} wide instead of {_width(now)}"

    # ── the art itself changed ──────────────────────────────────────────────────────────────────────

    def _reshaped(self) -> Iterator[Remedy]:
        yield from self._offset()
        yield from self._dropped()

    def _offset(self) -> Iterator[Remedy]:
        """Thicker or thinner at the present size, or at the nearest size where that helps."""
        limits, scale = self._limits, min(self._cut.placement.scale, self._limits.most)
        least, most = limits.offsets(scale)
        resize = least > most
        if resize:
            low, high = limits.with_offset()
            if low > high:
                return
            scale = min(max(scale, low * (1 + MARGIN)), high)
            least, most = limits.offsets(scale)
        offset = _nearest_zero(least, most)
        if abs(offset) < 1e-9:
            return
        offset += np.sign(offset) * 2 * self._anatomy.error * scale
        outline = thickened(self._cut.outline, self._anatomy, offset / scale)
        cut = replace(self._cut, outline=outline, placement=self._at(self._cut, scale))
        thick = offset > 0
        words = f"{'Thicken' if thick else 'Thin'} all its lines by {at_most(2 * abs(offset))}"
        if resize or scale != self._cut.placement.scale:
            code: Code = "resize-and-thicken" if thick else "resize-and-thin"
            words = f"{self._resized('Make it', scale)}, and {words[0].lower()}{words[1:]}"
        else:
            code = "thicken" if thick else "thin"
        yield from self._passes(code, cut, words, thickening=offset)

    def _dropped(self) -> Iterator[Remedy]:
        pieces = judge_lines(Scene(self._cut, self._anatomy)).vanishing.tolist()
        if not pieces or len(pieces) == len(self._anatomy.lines.peak):
            return
        outline = without_parts(self._cut.outline, self._anatomy, pieces)
        cut = replace(self._cut, outline=outline, placement=_kept_in_place(self._cut, outline))
        many = "the part that vanishes" if len(pieces) == 1 else f"the {len(pieces)} parts that vanish"
        yield from self._passes("drop-parts", cut, f"Leave out {many}", dropped=len(pieces))

    # ── other slats, other bits ─────────────────────────────────────────────────────────────────────

    def _elsewhere(self) -> Iterator[Remedy]:
        for bit in self._bits:
            cut = replace(self._cut, bit=bit)
            wanted = self._nearest_size(self._programme(cut), cut.placement.scale)
            if wanted is not None:
                cut = replace(cut, placement=self._at(cut, wanted))
                yield from self._passes("other-bit", cut, f"Use the bit '{bit.key}'", bit=bit.key)
        for slat in self._slats:
            yield from self._on(slat)

    def _on(self, slat: Slat) -> Iterator[Remedy]:
        """Another slat, with the present bit if that will do."""
        for bit in (self._cut.bit, *self._bits):
            cut = replace(self._cut, slat=slat, bit=bit)
            fit = self._fit(cut)
            if fit is None:
                return
            limits = self._programme(cut)
            # Coarse pixels only warn, and the programme is stricter than the check with small necks: the largest
            # fit is worth a check of its own where the programme sees no size.
            scale = limits.most if limits.least <= limits.most else limits.fit
            if limits.least > scale and bit != self._cut.bit:
                continue
            cut = replace(cut, placement=replace(fit, scale=scale))
            words = f"Put it on the slat '{slat.name}', {_width(scale * self._anatomy.size[0])} wide"
            also = None if bit == self._cut.bit else bit.key
            if also:
                words += f", with the bit '{also}'"
            passed = list(self._passes("other-slat", cut, words, slat=slat.key, bit=also))
            yield from passed
            if passed:
                return

    # ── art that is wider than the bit reaches ──────────────────────────────────────────────────────

    def _floors(self) -> Iterator[Remedy]:
        if self._before.figures.floor_area <= 0:
            return
        cut, limits = self._cut, self._limits
        if limits.least <= limits.floor:
            scale = min(limits.floor * (1 - MARGIN), cut.placement.scale)
            smaller = replace(cut, placement=self._at(cut, scale))
            yield from self._passes(
                "no-floor", smaller, self._resized("Without flat bottoms: make it", scale)
            )
        needed = flat_requirement(Scene(cut, self._anatomy))
        if np.isfinite(needed):
            line = (needed + 2 * self._anatomy.error * cut.placement.scale) * (1 + MARGIN)
            outline = outline_only(cut.outline, self._anatomy, line / cut.placement.scale)
            yield from self._passes(
                "outline-only",
                replace(cut, outline=outline),
                f"Carve only its outline, as a line {_width(line)} wide",
            )
        ground = background(cut.outline, self._anatomy, PANEL_MARGIN / cut.placement.scale)
        yield from self._passes(
            "carve-background",
            replace(cut, outline=ground),
            "Carve the ground around it and let the art stand",
        )

    # ── the full check ──────────────────────────────────────────────────────────────────────────────

    def _passes(
        self,
        code: Code,
        cut: Cut,
        words: str,
        *,
        thickening: float = 0.0,
        slat: str | None = None,
        bit: str | None = None,
        dropped: int = 0,
    ) -> Iterator[Remedy]:
        """The remedy, if the proposed cut carves."""
        anatomy = self._anatomy if cut.outline is self._cut.outline else _studied(cut.outline)
        if anatomy is None:
            return
        judged = check(cut, anatomy)
        if judged.verdict == "will-not-carve":
            return
        factor = cut.placement.scale / self._cut.placement.scale
        figures = judged.figures
        change = Change(figures.width, figures.height, factor, thickening, slat, bit, dropped)
        yield Remedy(code, f"{words}: {_outcome(judged)}.", cut, change, judged, anatomy)


def _studied(outline: Outline) -> Anatomy | None:
    """Anatomy of a changed outline; ``None`` where nothing of it is left."""
    return study(outline) if outline.contours else None


def _nearest_zero(least: float, most: float) -> float:
    """The value of smallest size between two bounds."""
    return min(max(0.0, least), most)


def _kept_in_place(cut: Cut, outline: Outline) -> Placement:
    """The placement under which what is left of an outline stays where it was on the slat."""
    left, low, right, high = outline.bounds
    centre = np.array([(left + right) / 2, (low + high) / 2])
    x, y = cut.placement.place(centre, cut.centre).tolist()
    return replace(cut.placement, x=x, y=y)


def _outcome(judged: Check) -> str:
    return "then it carves" if judged.verdict == "carves" else "then it carves, with remarks"


def _width(millimetres: float) -> str:
    return f"{millimetres:.1f} mm ({millimetres / tooling.MM_PER_INCH:.2f} in)"
