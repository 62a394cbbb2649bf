"""Folds at joints: what moves inwards past its own curvature loops where two segments meet.

As with parallel curves, the loop is cut off where the two cross; that point is the joint then.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from artwork.curves import Floats
from artwork.repair.net import Bools, Ints, Net

CHORDS = 24
"""Into so many each curve is divided, ever shorter towards the joint, where loops are smallest."""
ROUNDS, SAME = 3, 1e-6
"""In so many rounds a crossing of chords is brought onto the curves; as near as this, mm, the two must come there."""
MOST = 0.85
"""No segment loses more than this share of itself."""


@dataclass(frozen=True, eq=False)
class Folds:
    """What is cut off: shapes (n,) over all segments of a net, the shares of each from which and to which it stays."""

    start: Floats
    end: Floats

    @property
    def there(self) -> bool:
        """Whether anything is cut off."""
        return bool((self.start > 0).any() or (self.end < 1).any())


def folds_of(net: Net, crossing: Ints) -> Folds:
    """Loops at joints of segments that cross others, given by number."""
    count = len(net.knots)
    start, end = np.zeros(count), np.ones(count)
    first = np.intersect1d(crossing, net.before[crossing])
    if not len(first):
        return Folds(start, end)
    second = net.following[first]
    pair, t, s = _outermost(net, first, second)
    t, s, met = _on_curves(net, first[pair], second[pair], t, s)
    sound = met & (t > 1 - MOST) & (s < MOST) & (t < 1) & (s > 0)
    end[first[pair[sound]]], start[second[pair[sound]]] = t[sound], s[sound]
    spent = np.flatnonzero(end - start < 1 - MOST)  # cut off at both ends until nothing is left
    end[net.before[spent]], start[net.following[spent]] = 1.0, 0.0
    start[spent], end[spent] = 0.0, 1.0
    return Folds(start, end)


def _outermost(net: Net, first: Ints, second: Ints) -> tuple[Ints, Floats, Floats]:
    """Which pairs of neighbouring segments cross, and about where on both: farthest from their joint on the first."""
    near = (np.arange(CHORDS + 1) / CHORDS) ** 3
    shares = 1 - near[::-1], near
    lines = [
        net.places(np.repeat(which, CHORDS + 1), np.tile(share, len(which))).reshape(-1, CHORDS + 1, 2)
        for which, share in zip((first, second), shares, strict=True)
    ]
    a, b = lines[0][:, :-1, None], lines[1][:, None, :-1]
    along, other = lines[0][:, 1:, None] - a, lines[1][:, None, 1:] - b
    off = b - a
    across = along[..., 0] * other[..., 1] - along[..., 1] * other[..., 0]
    with np.errstate(divide="ignore", invalid="ignore"):
        u = (off[..., 0] * other[..., 1] - off[..., 1] * other[..., 0]) / across
        v = (off[..., 0] * along[..., 1] - off[..., 1] * along[..., 0]) / across
    meet = (u >= 0) & (u <= 1) & (v >= 0) & (v <= 1)
    meet[:, -1, 0] = False  # the joint itself
    pair = np.flatnonzero(meet.any(axis=(1, 2)))
    one = meet[pair].any(axis=2).argmax(axis=1)
    two = meet[pair, one].argmax(axis=1)
    t = shares[0][one] + u[pair, one, two] * np.diff(shares[0])[one]
    s = shares[1][two] + v[pair, one, two] * np.diff(shares[1])[two]
    return pair, t, s


def _on_curves(net: Net, first: Ints, second: Ints, t: Floats, s: Floats) -> tuple[Floats, Floats, Bools]:
    """The shares of both at which the curves themselves cross, by Newton's method, and whether they do."""
    for _ in range(ROUNDS):
        off = net.places(second, s) - net.places(first, t)
        one, two = net.velocities(first, t), -net.velocities(second, s)
        across = one[:, 0] * two[:, 1] - one[:, 1] * two[:, 0]
        across = np.where(np.abs(across) < SAME, np.inf, across)
        t = np.clip(t + (off[:, 0] * two[:, 1] - off[:, 1] * two[:, 0]) / across, 0.0, 1.0)
        s = np.clip(s + (one[:, 0] * off[:, 1] - one[:, 1] * off[:, 0]) / across, 0.0, 1.0)
    return t, s, np.hypot(*(net.places(second, s) - net.places(first, t)).T) < SAME
