"""The looks that colour art may have once it is carved: which keep the drawing, and which keep it best.

Every sensible choice of inks, ways to keep two carved colours apart, and the drawing's lines are tried on a small
picture. A look is good where its edges are the drawing's edges: it keeps those that the drawing has, the more so the
stronger they look, and adds none; and where it is dark where the drawing is dark.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from itertools import combinations

import cv2
import numpy as np

from artwork.curves import Floats
from artwork.intake.colours import oklab
from artwork.intake.values import Way

Pixels = cv2.typing.MatLike
SIDE = 360
"""Longer side of the small picture that looks are tried on, pixels."""
LINE = 0.012
"""Width of a line of wood, or of a drawn line, as a share of the picture's longer side: 2.4 mm on 200 mm."""
_MOST_SUBSETS = 512
_LIKELY = 6
"""Choices of inks whose looks are drawn and measured, of those that the table of common edges puts first."""
_FULL = 0.3
"""Difference in OKLab from which an edge counts in full."""
_SEEN = 0.05
"""Difference in OKLab below which there is no edge."""
_NEAR = np.ones((5, 5), np.uint8)
_STRICT = 3
"""Power of the share of a look's edges that are the drawing's: an edge where there is none, such as the border of a
band in what runs from dark to light, is worse than one that is lost.
"""
_TONE = 0.25
"""Weight of dark being dark, beside the edges' 1."""
_DARK = 0.5
"""Difference in OKLab's lightness from its ground at which an ink should be carved, if tone alone decided."""
_PLAINER = {"solid": 0.0, "parted": 0.02, "drawn": 0.05}
"""How much better a look must be than one that is simpler."""
_PAPER = 0.75
"""Lightness in OKLab from which a ground is paper, and never carved."""
_ALIKE = 0.015
"""Looks that differ on less than this share of the art are one."""
_CLEAR = 0.15
"""A look is clearly best where its mark is better than the next one's by this much."""
_WORTH = 0.45
"""A look is shown beside the best where its mark reaches this share of the best one's."""
MOST_SHOWN = 4


@dataclass(frozen=True)
class Look:
    """One look: the inks that are carved, by their place, and how they are kept apart."""

    way: Way
    inks: tuple[int, ...]


@dataclass(frozen=True, eq=False)
class Judged:
    """A look on the small picture.

    Attributes:
        mask: (h, w) uint8, 1 where it is carved.
        kept: share of the drawing's edges, by how strong they look, that are edges of the carving.
        mark: how good it is, 0 to 1.
    """

    look: Look
    mask: Pixels
    kept: float
    mark: float


@dataclass(frozen=True, eq=False)
class Art:
    """A small picture of colour art.

    Attributes:
        levels: (h, w, 3) sRGB, uint8.
        labels: (h, w) uint8, the ink of each pixel.
        colours: (k, 3) sRGB 0 to 1, each ink's.
        ground: which ink the art lies on.
    """

    levels: Pixels
    labels: Pixels
    colours: Floats
    ground: int

    @property
    def line(self) -> int:
        """Width of a line, pixels."""
        return max(2, round(LINE * max(*map(int, self.labels.shape))))


def ranked(art: Art) -> list[Judged]:
    """The looks worth showing, the best first; of those that are nearly the same, the best."""
    measure = _Measure(art)
    judged = [measure.judged(look) for look in _candidates(art)]
    judged.sort(key=lambda each: (-each.mark, each.look.way, each.look.inks))
    kept: list[Judged] = []
    for each in judged:
        if each.mask.any() and all(_differ(each.mask, other.mask) > _ALIKE for other in kept):
            kept.append(each)
    return kept


def offered(art: Art, wished: Look | None) -> list[Judged]:
    """The looks to choose from, the best first; one that was wished for is among them, whatever it is worth."""
    found = shown(ranked(art))
    if wished is None or any(each.look == wished for each in found):
        return found
    return [*found[: MOST_SHOWN - 1], _Measure(art).judged(wished)]


def judged_mask(art: Art, mask: Pixels) -> Judged:
    """How good a mask of the small picture's size, or larger, is; it is no look of inks."""
    small = cv2.resize(mask, art.labels.shape[::-1], interpolation=cv2.INTER_AREA)
    return _Measure(art).of(Look("solid", ()), small)


def shown(ranking: list[Judged]) -> list[Judged]:
    """Of a ranking the looks that are offered: the best, and where it is not clearly best up to three more.

    The best of each way comes before the second of any.
    """
    if not ranking:
        return []
    best = ranking[0]
    worth = [each for each in ranking[1:] if each.mark >= _WORTH * best.mark]
    if not worth or (best.mark - worth[0].mark > _CLEAR and best.kept > 1 - _CLEAR):
        return [best]
    firsts = {each.look.way: each for each in reversed(worth) if each.look.way != best.look.way}
    order = sorted(firsts.values(), key=lambda each: -each.mark)
    order += [each for each in worth if each not in order]
    return [best, *order[: MOST_SHOWN - 1]]


def beside(own: Judged, ranking: list[Judged]) -> list[Judged]:
    """Of a ranking the looks that are offered beside a reading that is none of them, the best of each way first."""
    others = [each for each in ranking if _differ(each.mask, own.mask) > _ALIKE]
    worth = [each for each in others if each.mark >= _WORTH * own.mark]
    firsts = {each.look.way: each for each in reversed(worth)}
    order = sorted(firsts.values(), key=lambda each: -each.mark)
    order += [each for each in worth if each not in order]
    return order[: MOST_SHOWN - 1]


def look_mask(
    labels: Pixels, colours: Floats, ground: int, look: Look, line: int, *, seen: Pixels | None = None
) -> Pixels:
    """What a look carves of a picture of inks, (h, w) uint8.

    Args:
        labels: (h, w) uint8, the ink of each pixel.
        colours: each ink's.
        ground: which ink the art lies on.
        look: the look.
        line: width of its lines, pixels.
        seen: (h, w) uint8, 0 where no line is drawn: where one tone runs into the next. ``None``: everywhere.
    """
    carved = np.zeros(256, np.uint8)
    carved[list(look.inks)] = 1
    mask = cv2.LUT(labels, carved)
    if look.way == "parted":
        return _parted(labels, colours, look.inks, mask, line)
    if look.way == "drawn":
        return _drawn(labels, ground, carved, mask, line=line, seen=seen)
    return mask


def _parted(labels: Pixels, colours: Floats, inks: tuple[int, ...], mask: Pixels, line: int) -> Pixels:
    """Around each carved ink a line of wood is left, taken from the lighter ones that it meets."""
    lightness = oklab(colours)[:, 0]
    kept = np.zeros(mask.shape, np.uint8)
    for ink in sorted(inks, key=lambda i: -lightness[i]):
        own = (np.asarray(labels) == ink).astype(np.uint8)
        kept[_within(own, line)] = 0
        kept[own > 0] = 1
    return kept


def _drawn(
    labels: Pixels, ground: int, carved: np.ndarray, mask: Pixels, *, line: int, seen: Pixels | None
) -> Pixels:
    """A line along every edge between two inks that are not carved; along the ground it lies within the art."""
    plain = np.asarray(labels).copy()
    plain[np.asarray(mask) > 0] = ground
    across, rim = np.zeros(plain.shape, np.uint8), np.zeros(plain.shape, np.uint8)
    left, bare = carved[np.asarray(labels)] == 0, np.asarray(labels) == ground
    for here, there in ((np.s_[:, 1:], np.s_[:, :-1]), (np.s_[1:], np.s_[:-1])):
        edge = (plain[here] != plain[there]) & left[here] & left[there]
        by_ground = bare[here] | bare[there]
        across[here] |= edge & ~by_ground
        rim[here] |= edge & by_ground
    if seen is not None:
        across[np.asarray(seen) == 0] = 0
        rim[np.asarray(seen) == 0] = 0
    drawn = np.asarray(mask).copy()
    drawn[(_within(across, line / 2) | _within(rim, line)) & ~bare] = 1
    return drawn


def _within(part: Pixels, reach: float) -> np.ndarray:
    """(h, w) of bool: what lies at most ``reach`` pixels from a part of the picture."""
    if not np.asarray(part).any():
        return np.zeros(part.shape, bool)
    return np.asarray(cv2.distanceTransform(1 - np.asarray(part), cv2.DIST_L2, 3)) <= reach


def _candidates(art: Art) -> Iterator[Look]:
    """Looks that may be good: likely choices of inks, each in all ways."""
    count = len(art.colours)
    others = [i for i in range(count) if i != art.ground and (np.asarray(art.labels) == i).any()]
    likely = _likely(art, others)
    for inks in likely:
        yield Look("solid", inks)
    for inks in likely:
        if len(inks) > 1:
            yield Look("parted", inks)
    if len(others) > 1:
        darkest = _by_darkness(art, others)
        for most in range(min(len(others), 4)):
            yield Look("drawn", tuple(sorted(darkest[:most])))


def _by_darkness(art: Art, inks: list[int]) -> list[int]:
    """The inks that differ most from their ground first."""
    lab = oklab(art.colours)
    away = lab[:, 0] - lab[art.ground, 0]
    return sorted(inks, key=lambda i: away[i] if lab[art.ground, 0] > 0.5 else -away[i])


def _likely(art: Art, others: list[int]) -> list[tuple[int, ...]]:
    """The choices of inks that keep most of the edges between two inks, all of them, and the darker ones up to each."""
    table = _common_edges(art)
    subsets: list[tuple[int, ...]] = []
    for size in range(1, len(others) + 1):
        for inks in combinations(others, size):
            subsets.append(inks)
            if len(subsets) >= _MOST_SUBSETS:
                break
    carved = np.zeros((len(subsets), len(art.colours)), bool)
    for at, inks in enumerate(subsets):
        carved[at, list(inks)] = True
    kept = np.einsum("si,sj,ij->s", carved, ~carved, table)
    order = np.argsort(-kept, kind="stable")[:_LIKELY]
    darkest = _by_darkness(art, others)
    steps = [tuple(sorted(darkest[:most])) for most in range(1, len(darkest) + 1)]
    found = [subsets[int(at)] for at in order] + steps
    if oklab(art.colours)[art.ground, 0] < _PAPER:  # the ground may be what is carved, the art left in it
        found.append((art.ground,))
    return list(dict.fromkeys(found))


def _common_edges(art: Art) -> Floats:
    """(k, k): length of the edge between each two inks, by how strong it looks."""
    labels = np.asarray(art.labels).astype(np.int64)
    count = len(art.colours)
    pairs = np.zeros(count * count)
    for a, b in ((labels[:, 1:], labels[:, :-1]), (labels[1:], labels[:-1])):
        pairs += np.bincount((a * count + b).ravel(), minlength=count * count)
    table = pairs.reshape(count, count)
    lab = oklab(art.colours)
    apart = np.linalg.norm(lab[:, None] - lab, axis=2)
    weighted: Floats = (table + table.T) * np.clip(apart / _FULL, 0, 1)
    return weighted


def _edges(art: Art) -> Floats:
    """(h, w): how strong an edge of the drawing each pixel is, 0 to 1."""
    smooth = cv2.GaussianBlur(art.levels, (3, 3), 0)
    lab = oklab(np.asarray(smooth).reshape(-1, 3) / 255).reshape(*art.labels.shape, 3).astype(np.float32)
    across = np.zeros(art.labels.shape, np.float32)
    across[:, 1:-1] = np.linalg.norm(lab[:, 2:] - lab[:, :-2], axis=2)
    down = np.zeros(art.labels.shape, np.float32)
    down[1:-1] = np.linalg.norm(lab[2:] - lab[:-2], axis=2)
    strength = np.maximum(across, down)
    strength[strength < _SEEN] = 0
    return np.clip(strength / _FULL, 0, 1).astype(np.float64)


def _tones(art: Art) -> Floats:
    """(h, w): how far each pixel's ink is from its ground in lightness, 0 to 1."""
    lightness = oklab(art.colours)[:, 0]
    away: Floats = np.clip(np.abs(lightness - lightness[art.ground]) / _DARK, 0, 1)
    return away[np.asarray(art.labels)]


def seen_edges(art: Art) -> Pixels:
    """(h, w) uint8, 1 on the drawing's own edges and next to them."""
    return cv2.dilate((_edges(art) > 0).astype(np.uint8), _NEAR)


class _Measure:
    """Holds looks against the edges and tones of one picture."""

    def __init__(self, art: Art) -> None:
        self._art = art
        self._edges, self._tones = _edges(art), _tones(art)
        reach = np.ones((2 * art.line + 3, 2 * art.line + 3), np.uint8)  # a line has an edge on each side
        self._strong = np.asarray(cv2.dilate((self._edges > 0).astype(np.uint8), reach)) > 0
        self._seen = cv2.dilate((self._edges > 0).astype(np.uint8), _NEAR)
        self._total = max(float(self._edges.sum()), 1e-9)
        self._there = self._tones > 0

    def judged(self, look: Look) -> Judged:
        art = self._art
        return self.of(look, look_mask(art.labels, art.colours, art.ground, look, art.line, seen=self._seen))

    def of(self, look: Look, mask: Pixels) -> Judged:
        outline = cv2.morphologyEx(mask, cv2.MORPH_GRADIENT, np.ones((3, 3), np.uint8))
        kept = float(self._edges[np.asarray(cv2.dilate(outline, _NEAR)) > 0].sum()) / self._total
        on = np.asarray(outline) > 0
        true = float(self._strong[on].mean()) ** _STRICT if on.any() else 0.0
        tone, there = self._tones, self._there
        agrees = 1 - float(np.abs(np.asarray(mask)[there] - tone[there]).mean()) if there.any() else 0.0
        both = 2 * kept * true / max(kept + true, 1e-9)
        return Judged(look, mask, kept, (both + _TONE * agrees) / (1 + _TONE) - _PLAINER[look.way])


def _differ(a: Pixels, b: Pixels) -> float:
    """Share of the art on which two masks differ."""
    art = cv2.countNonZero(cv2.bitwise_or(a, b))
    return cv2.countNonZero(cv2.absdiff(a, b)) / max(art, 1)
