"""The search for remedies: proposals from quick looks, each put through the full check as it is told."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import replace
from functools import cached_property
from math import inf

import numpy as np

from artwork import tooling
from artwork.axis import Anatomy, study
from artwork.change import Change, Code
from artwork.cut import Cut
from artwork.findings import Check, check
from artwork.findings.lines import flat_requirement
from artwork.findings.wording import GRAIN
from artwork.placing import hull_of
from artwork.remedies.looking import Look
from artwork.remedies.offsets import Offsets
from artwork.remedies.reshaping import background, losses, outline_only, without
from artwork.remedies.resizing import CLEAR, DOUBT
from artwork.remedies.sizes import extent
from artwork.remedies.sizing import Art, Sized, Sizing, shape_of
from artwork.remedies.told import at_the_most, growth
from artwork.remedies.values import LEAST_KEPT, Remedy, lower
from artwork.scene import Scene
from artwork.workpiece import Bit, Slat

PLACING = {"off-slat", "edge-land", "keep-out", "round-over", "edge-margin", "end-margin", "hidden"}
"""Findings that another place on the slat can cure."""
PANEL_MARGIN = 6.0
"""Carved ground around art that is left standing, mm (common practice, no source)."""
FREE_TURNS = (15.0, -15.0, 30.0, -30.0, 45.0, -45.0, 60.0, -60.0, 75.0, -75.0)
"""Turns that are tried where a quarter turn does not keep the size, degrees, the least first."""
AS_LARGE = 0.999
"""A size is kept where no more than this share of it is."""


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
        self._before = check(cut, anatomy)
        ill_placed = any(finding.kind in PLACING for finding in self._before.findings)
        self._sizing = Sizing(cut, ill_placed=ill_placed)
        self._offsets = Offsets(cut, self._before.figures, self._sizing, self._passes)

    def found(self) -> Iterator[Remedy]:
        """Remedies, the least change first; proposals that fail are left out and told of."""
        thinnest = self._before.figures.least_line
        width = inf if thinnest is None else (thinnest + GRAIN) / self._cut.placement.scale
        art = Art(self._cut.outline, self._anatomy, hull_of(self._cut.outline), thinnest=width)
        for name, proposals in self._ways(art):
            try:
                yield from proposals
            except MemoryError:
                raise
            except Exception as error:  # noqa: BLE001 - one proposal is not worth the others, nor the order
                self._failed(name, error)

    def _ways(self, art: Art) -> Iterator[tuple[str, Iterator[Remedy]]]:
        if self._before.verdict == "will-not-carve":
            yield "resize", self._moved_or_resized(art)
            yield "thicken", self._offsets.found(art)
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

    def _here(self, art: Art) -> Iterator[Remedy]:
        """Moved, resized, thicker or thinner."""
        yield from self._moved_or_resized(art)
        yield from self._offsets.found(art)

    def _moved_or_resized(self, art: Art) -> Iterator[Remedy]:
        cut = self._sizing.cut_of(art)
        scale, most = cut.placement.scale, self._sizing.most(cut, art)
        if self._sizing.ill_placed and scale <= most:
            moved = replace(cut, placement=self._sizing.at(cut, art, scale))
            yield from self._passes("move", moved, art, "Move it to the middle of the free area")
        sized = self._sizing.sized(cut, art)
        if sized is not None and sized.width is not None:
            yield from self._passes(
                "resize", sized.cut, art, self._sizing.resized(sized.width, sized.cut, art)
            )

    # ── turned ──────────────────────────────────────────────────────────────────────────────────────

    def _turned(self, art: Art) -> Iterator[Remedy]:
        """A quarter turn; where that does not keep the size, the least turn that does."""
        cut = self._cut
        if self._sizing.hopeless(cut, art, self._sizing.widest_fit(art)):
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

    def _by_turning(self, art: Art, turn: float, *, resized: bool = True) -> list[Remedy]:
        rotation = (self._cut.placement.rotation_deg + turn + 180) % 360 - 180
        cut = replace(self._cut, placement=replace(self._cut.placement, rotation_deg=rotation))
        most, scale = self._sizing.most(cut, art), cut.placement.scale
        if most <= 0 or (most < scale and not resized):
            return []
        if resized:
            sized = self._sizing.sized(cut, art)
        else:
            placed = replace(cut, placement=self._sizing.at(cut, art, scale))
            sized = None if Look(placed, art.anatomy).stops else Sized(placed, None)
        if sized is None:
            return []
        words = f"Turn it by {abs(turn):.0f}° {'to the left' if turn > 0 else 'to the right'}"
        if sized.width is not None:
            words += f" and make it {sized.width.words} wide as it then lies"
        return list(self._passes("turn", sized.cut, art, words, turn=turn))

    # ── what is lost anyway left out ────────────────────────────────────────────────────────────────

    @cached_property
    def _cleaned(self) -> Art | None:
        """The art without parts that vanish and islands that break out; ``None`` where that is too much."""
        parts, islands = losses(Scene(self._cut, self._anatomy))
        outline = without(self._cut.outline, self._anatomy, parts, islands)
        if outline is None:
            return None
        words = _left_out(len(parts), len(islands))
        count = len(parts) + len(islands)
        return Art(outline, study(outline), hull_of(outline), words, count, self._staying_thin)

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
        most = self._sizing.most(self._cut, Art(self._cut.outline, self._anatomy, hull_of(self._cut.outline)))
        needed = flat_requirement(Scene(self._cut, self._anatomy))
        if self._staying_thin * most * DOUBT < needed or self._cleaned is None:
            return
        alone = list(self._passes("drop-parts", self._sizing.cut_of(self._cleaned), self._cleaned, ""))
        yield from alone or self._here(self._cleaned)

    # ── other bits, other slats ─────────────────────────────────────────────────────────────────────

    def _with_other_bits(self, art: Art) -> Iterator[Remedy]:
        for bit in self._bits:
            sized = self._sizing.sized(replace(self._cut, bit=bit), art)
            if sized is None:
                continue
            words = f"Use the bit '{bit.key}'"
            if sized.width is not None:
                words += f", and {lower(self._sizing.resized(sized.width, sized.cut, art))}"
            yield from self._passes("other-bit", sized.cut, art, words, bit=bit.key)

    def _elsewhere(self, art: Art) -> Iterator[Remedy]:
        """Other slats; without what is lost anyway only where no slat carries all of it."""
        whole = [remedy for slat in self._slats for remedy in self._of_art_on(slat, art)]
        yield from whole
        if whole:
            return
        for slat in self._slats:
            bare = replace(self._cut, slat=slat)
            needed = flat_requirement(Scene(bare, art.anatomy))
            hopeless = self._staying_thin * self._sizing.most(bare, art) * DOUBT < needed
            if not hopeless and self._cleaned is not None:
                yield from self._of_art_on(slat, self._cleaned)

    def _of_art_on(self, slat: Slat, art: Art) -> Iterator[Remedy]:
        """At the nearest size that carves there; with the present bit if possible."""
        for bit in (self._cut.bit, *self._bits):
            cut = replace(self._cut, outline=art.outline, slat=slat, bit=bit)
            sized = self._sizing.sized(cut, art)
            if sized is None:
                continue
            other = None if bit == self._cut.bit else bit.key
            words = self._on_words(slat, other, sized)
            passed = list(self._passes("other-slat", sized.cut, art, words, slat=slat.key, bit=other))
            yield from passed
            if passed:
                return

    def _on_words(self, slat: Slat, bit: str | None, sized: Sized) -> str:
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

    def _with_reaching_bits(self, art: Art) -> Iterator[Remedy]:
        cut, scale = self._cut, self._cut.placement.scale
        for bit in self._bits:
            wider = replace(cut, bit=bit)
            if self._floor_scale(wider) >= scale and not Look(wider, self._anatomy).stops:
                words = f"Use the bit '{bit.key}', which reaches everywhere"
                yield from self._passes("other-bit", wider, art, words, bit=bit.key)

    def _outline_only(self, art: Art) -> Iterator[Remedy]:
        cut, scale = self._cut, self._cut.placement.scale
        needed = flat_requirement(Scene(cut, self._anatomy))
        line = growth(needed + 2 * self._anatomy.error * scale, inf) if np.isfinite(needed) else None
        if line is not None:
            hollow = replace(cut, outline=outline_only(cut.outline, self._anatomy, line.mm / scale))
            words = f"Carve only its outline, as a line {line.words} wide"
            yield from self._passes("outline-only", hollow, art, words)

    def _background(self, art: Art) -> Iterator[Remedy]:
        cut, scale = self._cut, self._cut.placement.scale
        ground = replace(cut, outline=background(cut.outline, self._anatomy, PANEL_MARGIN / scale))
        words = "Carve the ground around it and let the art stand"
        yield from self._passes("carve-background", ground, art, words)

    def _floor_scale(self, cut: Cut) -> float:
        """Scale up to which the cut's bit leaves no flat bottom."""
        reach = tooling.groove_width(Scene(cut, self._anatomy).limit, cut.bit)
        return float(reach / (2 * (self._anatomy.lines.peak.max() + self._anatomy.error)))

    def _without_floor(self, art: Art) -> Iterator[Remedy]:
        """So much smaller that no bottom is flat, where most of the size is kept."""
        cut, scale = self._cut, self._cut.placement.scale
        smaller = self._floor_scale(cut) * (1 - CLEAR)
        if not LEAST_KEPT * scale <= smaller < scale:
            return
        across = extent(art.anatomy, cut)[0]
        told = at_the_most(LEAST_KEPT * scale * across, smaller * across)
        if told is None:
            return
        placed = replace(cut, placement=self._sizing.at(cut, art, told.mm / across))
        yield from self._passes(
            "no-floor", placed, art, f"{self._sizing.resized(told, placed, art)}, without flat bottoms"
        )

    # ── the full check ──────────────────────────────────────────────────────────────────────────────

    def _passes(
        self,
        code: Code,
        cut: Cut,
        art: Art,
        words: str,
        thickening: float = 0.0,
        *,
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
            words = f"{art.words}, and {lower(words)}" if words else art.words
            code = "drop-parts" if slat is None else code
        factor = cut.placement.scale / self._cut.placement.scale
        figures = judged.figures
        change = Change(figures.width, figures.height, factor, thickening, turn, slat, bit, art.dropped)
        yield Remedy(code, f"{words}: {_outcome(judged)}.", cut, change, judged, anatomy)


def _distinct(slats: Sequence[Slat], present: Slat) -> tuple[list[Slat], dict[str, int]]:
    """Slats of other shapes than the present one, each shape once, and how many more of each there are."""
    seen = {shape_of(present): present.key}
    found: list[Slat] = []
    alike: dict[str, int] = {}
    for slat in slats:
        shape = shape_of(slat)
        if shape in seen:
            if seen[shape] in alike:
                alike[seen[shape]] += 1
            continue
        seen[shape], alike[slat.key] = slat.key, 0
        found.append(slat)
    return found, alike


def _outcome(judged: Check) -> str:
    return "then it carves" if judged.verdict == "carves" else "then it carves, with remarks"


def _left_out(parts: int, islands: int) -> str:
    """What is left out or carved as well, and what takes its place."""
    wood = (
        "Leave out the part that is lost (plain wood takes its place)"
        if parts == 1
        else f"Leave out the {parts} parts that are lost (plain wood takes their place)"
    )
    groove = (
        "Carve the island of wood that breaks out as well (a groove takes its place)"
        if islands == 1
        else f"Carve the {islands} islands of wood that break out as well (a groove takes their place)"
    )
    if not (parts and islands):
        return wood if parts else groove
    return f"{wood}, and {lower(groove)}"
