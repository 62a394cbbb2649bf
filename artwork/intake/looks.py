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
from numpy.typing import NDArray

from artwork.curves import Floats
from artwork.intake.colours import oklab, oklab_of
from artwork.intake.toning import dark_parts
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
_EDGE = np.ones((3, 3), np.uint8)
_STRICT = 3
"""Power of the share of a look's edges that are the drawing's: an edge where there is none, such as the border of a
band in what runs from dark to light, is worse than one that is lost.
"""
_TONE = 0.25
"""Weight of dark being dark, beside the edges' 1."""
_DARK = 0.5
"""Difference in OKLab's lightness from its ground at which an ink should be carved, if tone alone decided."""
_PLAINER = {"solid": 0.0, "parted": 0.02, "drawn": 0.05, "toned": 0.02}
"""How much better a look must be than one that is simpler."""
_PAPER = 0.75
"""Lightness in OKLab from which a ground is paper, and never carved."""
_ALL_ROUND = 0.7
"""Share of a picture's frame from which on its ground lies all round the art."""
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
        shaded: whether its inks are but tones of colours that run into each other.
    """

    levels: Pixels
    labels: Pixels
    colours: Floats
    ground: int
    shaded: bool = False

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


class Carver:
    """Draws what looks carve of one picture of inks; what several looks need is worked out once."""

    def __init__(self, art: Art, seen: Pixels | None = None) -> None:
        """For one picture.

        Args:
            art: the picture.
            seen: (h, w) uint8, 0 where no line is drawn: where one tone runs into the next. ``None``: everywhere.
        """
        self._art, self._line = art, art.line
        self._labels, self._ground = np.asarray(art.labels), art.ground
        self._lightness = oklab(art.colours)[:, 0]
        self._unseen = None if seen is None else np.asarray(seen) == 0
        self._around: dict[int, tuple[np.ndarray, np.ndarray]] = {}

    def mask(self, look: Look) -> Pixels:
        """What a look carves, (h, w) uint8."""
        carved = np.zeros(256, np.uint8)
        carved[list(look.inks)] = 1
        if look.way == "parted":
            return self._parted(look.inks)
        if look.way == "toned":
            return toned(self._art)
        mask = cv2.LUT(self._labels, carved)
        return self._drawn(np.asarray(mask)) if look.way == "drawn" else mask

    def _parted(self, inks: tuple[int, ...]) -> Pixels:
        """Around each carved ink a line of wood is left, taken from the lighter ones that it meets."""
        kept = np.zeros(self._labels.shape, np.uint8)
        for ink in sorted(inks, key=lambda i: -self._lightness[i]):
            if ink not in self._around:
                own = self._labels == ink
                self._around[ink] = own, _within(own.astype(np.uint8), self._line)
            own, near = self._around[ink]
            kept[near] = 0
            kept[own] = 1
        return kept

    def _drawn(self, mask: np.ndarray) -> Pixels:
        """A line along every edge between two inks that are not carved; along the ground it lies within the art."""
        plain, bare = self._labels.copy(), self._labels == self._ground
        left = mask == 0
        plain[~left] = self._ground
        across, rim = np.zeros(plain.shape, np.uint8), np.zeros(plain.shape, np.uint8)
        for here, there in ((np.s_[:, 1:], np.s_[:, :-1]), (np.s_[1:], np.s_[:-1])):
            edge = (plain[here] != plain[there]) & left[here] & left[there]
            by_ground = bare[here] | bare[there]
            across[here] |= edge & ~by_ground
            rim[here] |= edge & by_ground
        if self._unseen is not None:
            across[self._unseen] = 0
            rim[self._unseen] = 0
        drawn = mask.copy()
        drawn[(_within(across, self._line / 2) | _within(rim, self._line)) & ~bare] = 1
        return drawn


def toned(art: Art) -> Pixels:
    """The dark parts of the art, (h, w) uint8; the light ones where it lies on a dark ground all round."""
    labels = np.asarray(art.labels)
    frame = np.concatenate([labels[0], labels[-1], labels[:, 0], labels[:, -1]])
    ground = oklab(art.colours)[art.ground, 0]
    alone = (frame == art.ground).mean() > _ALL_ROUND
    return dark_parts(art.levels, labels != art.ground if alone else None, light=alone and ground < _DARK)


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
    if art.shaded:
        yield Look("toned", ())
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
    lab = oklab_of(smooth)
    strength = np.zeros(art.labels.shape, np.float32)
    strength[:, 1:-1] = _apart(lab[:, 2:], lab[:, :-2])
    strength[1:-1] = np.maximum(strength[1:-1], _apart(lab[2:], lab[:-2]))
    strength[strength < _SEEN] = 0
    return np.asarray(np.clip(strength / _FULL, 0, 1), np.float64)


def _apart(a: NDArray[np.float32], b: NDArray[np.float32]) -> NDArray[np.float32]:
    """How far the colours (h, w, 3) of two pictures lie from each other, (h, w)."""
    off = a - b
    return np.asarray(np.sqrt(np.einsum("hwc,hwc->hw", off, off)))


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
        self._edges, tones = _edges(art), _tones(art)
        some = (self._edges > 0).astype(np.uint8)
        reach = np.ones((2 * art.line + 3, 2 * art.line + 3), np.uint8)  # a line has an edge on each side
        self._strong = cv2.dilate(some, reach)
        self._total = max(float(self._edges.sum()), 1e-9)
        self._area, self._left = int((tones > 0).sum()), float(tones.sum())
        self._gain = np.where(
            tones > 0, 1 - 2 * tones, 0
        )  # of carving a pixel, in how far it is off its tone
        self._carver = Carver(art, cv2.dilate(some, _NEAR))

    def judged(self, look: Look) -> Judged:
        return self.of(look, self._carver.mask(look))

    def of(self, look: Look, mask: Pixels) -> Judged:
        outline = cv2.morphologyEx(mask, cv2.MORPH_GRADIENT, _EDGE)
        kept = _sum_on(self._edges, cv2.dilate(outline, _NEAR)) / self._total
        length = cv2.countNonZero(outline)
        true = (cv2.countNonZero(cv2.bitwise_and(outline, self._strong)) / max(length, 1)) ** _STRICT
        agrees = 1 - (self._left + _sum_on(self._gain, mask)) / self._area if self._area else 0.0
        both = 2 * kept * true / max(kept + true, 1e-9)
        return Judged(look, mask, kept, (both + _TONE * agrees) / (1 + _TONE) - _PLAINER[look.way])


def _sum_on(values: Floats, mask: Pixels) -> float:
    """Sum of the values (h, w) where the mask is not 0."""
    return cv2.mean(values, mask)[0] * cv2.countNonZero(mask)


def _differ(a: Pixels, b: Pixels) -> float:
    """Share of the art on which two masks differ."""
    art = cv2.countNonZero(cv2.bitwise_or(a, b))
    return cv2.countNonZero(cv2.absdiff(a, b)) / max(art, 1)
