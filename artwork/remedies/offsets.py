"""Lines made thicker or thinner by the least that will do, at the present size or at the nearest where it helps."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import replace

import numpy as np

from artwork.axis import study
from artwork.change import Code
from artwork.cut import Cut
from artwork.findings.values import Figures
from artwork.findings.wording import GRAIN
from artwork.placing import hull_of
from artwork.remedies.looking import Look
from artwork.remedies.reshaping import thickened
from artwork.remedies.resizing import DOUBT, Reach
from artwork.remedies.sizes import extent
from artwork.remedies.sizing import Art, Sized, Sizing
from artwork.remedies.told import growth
from artwork.remedies.values import LEAST_KEPT, Remedy, lower
from artwork.scene import NEGLIGIBLE, Scene

OFFSET_ROUNDS = 4
"""So often is an offset that is not enough made larger."""
TOLD_OFFSET = 0.02
"""What line and land together must have to spare, mm, for an offset to be told in round numbers."""

Passes = Callable[[Code, Cut, Art, str, float], Iterator[Remedy]]
"""Puts a proposal (code, cut, its art, words, thickening in mm) through the full check."""


class Offsets:
    """The offsets of one cut's art."""

    def __init__(self, cut: Cut, figures: Figures, sizing: Sizing, passes: Passes) -> None:
        """``figures`` are those of the cut as it stands."""
        self._cut, self._figures, self._sizing, self._passes = cut, figures, sizing, passes

    def found(self, art: Art) -> Iterator[Remedy]:
        """Thicker or thinner by the least that will do, at the present size or at the nearest where it helps."""
        cut = self._sizing.cut_of(art)
        most, now = self._sizing.most(cut, art), cut.placement.scale
        if most <= 0 or (art.dropped == 0 and self._too_little_of_both(most)):
            return
        scale = min(now, most)
        for _ in range(OFFSET_ROUNDS):
            sized = Sized(cut, None)
            if scale != now:
                found = self._sizing.told_size(cut, art, Reach(scale, most))
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

    def _smaller_and_thicker(self, art: Art, wanted: float) -> Iterator[Remedy]:
        """Made smaller by what thicker lines take at the art's edge, where it fills the room there is."""
        cut = self._sizing.cut_of(art)
        across, along = extent(art.anatomy, cut)
        scale = min(cut.placement.scale, self._sizing.most(cut, art))
        for share in range(1, OFFSET_ROUNDS + 1):
            side = min(across, along) * scale
            smaller = scale * (1 - min(2 * (wanted + TOLD_OFFSET) * share / side, 1 - LEAST_KEPT))
            sized = self._sizing.told_size(cut, art, Reach(smaller, smaller))
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
        told = self._figures
        if told.least_line is None or told.least_land is None or told.least_land_required is None:
            return False
        has = (told.least_line + told.least_land + 2 * GRAIN) * most / self._cut.placement.scale
        return has * DOUBT < told.least_line_required + told.least_land_required

    def _offset_at(self, art: Art, sized: Sized, bounds: tuple[float, float]) -> Iterator[Remedy]:
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
                    words = f"{self._sizing.resized(sized.width, sized.cut, art)}, and {lower(words)}"
                yield from self._passes(code, proposed, changed, words, offset)
                return
            least, greatest = seen.offsets(seen.scale)
            wanted += max(least if thicker else -greatest, GRAIN / 2)

    def _with_offset(self, cut: Cut, art: Art, offset: float) -> tuple[Cut, Art] | None:
        """The cut with every edge moved outwards by ``offset`` mm; ``None`` where nothing or no room is left."""
        outline = thickened(art.outline, art.anatomy, offset / cut.placement.scale)
        if not outline.contours:
            return None
        changed = replace(art, outline=outline, anatomy=study(outline), hull=hull_of(outline))
        proposed = replace(cut, outline=outline, placement=self._sizing.kept(cut, changed))
        if cut.placement.scale > self._sizing.most(proposed, changed):
            return None
        return replace(proposed, placement=self._sizing.at(proposed, changed, cut.placement.scale)), changed
