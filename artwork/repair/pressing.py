"""The least shifts that meet what is asked: which requirements press is found in rounds, each a sparse solve.

Two ways to the same shifts: our own extension ``_pressing``, which orders the points once and carries the matrix from
round to round, and scipy's general solver, which makes all anew each time and takes six times as long. The first is
used where it has been built (``scripts/setup.sh`` does); both give equal shifts (tested).
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from scipy.sparse import csc_array, csr_array
from scipy.sparse.linalg import splu

from artwork.curves import Floats

try:
    from artwork.repair import _pressing
except ImportError:  # a machine without a compiler
    _pressing = None  # type: ignore[assignment]

CLEAR = 0.002
"""It is clear which requirements press once no point would move by more than this, mm."""
HALVINGS = 12
"""How often the way is halved on which a round goes too far."""
ROUNDING = 1e-9
"""Of the slope at the beginning of a way so much at its end is none."""
TINY = 1e-12


@dataclass(frozen=True, eq=False)
class Pressing:
    """Least is ``½ x·resistance·x − pull·x + ½ Σ weight·max(lack − rows·x, 0)² + ½ Σ held·max(|shift| − most, 0)²``.

    The last sum is over the points: none is to go farther than ``most``, and others make up for it.

    Attributes:
        resistance: shape (n, n), symmetric and positive; unknown ``i`` and unknown ``i + n/2`` are of one point.
        rows: shape (m, n).
        lack, weight: shape (m,).
        pull: shape (n,).
        most, held: mm; weight.
    """

    resistance: csr_array
    rows: csr_array
    lack: Floats
    weight: Floats
    pull: Floats
    most: float
    held: float


def by_extension(asked: Pressing, rounds: int) -> Floats:
    """Shape (n,): the least ``x``, or what has been found after so many rounds."""
    found = _pressing.press(
        _compressed(asked.resistance),
        _compressed(asked.rows),
        plain(asked.lack),
        plain(asked.weight),
        plain(asked.pull),
        asked.most,
        asked.held,
        rounds,
        CLEAR,
        HALVINGS,
    )
    return np.frombuffer(found)


def _compressed(matrix: csr_array) -> tuple[memoryview, memoryview, memoryview]:
    return plain(matrix.indptr, np.int32), plain(matrix.indices, np.int32), plain(matrix.data)


def plain(values: np.ndarray, kind: type = np.float64) -> memoryview:
    """Numbers as our extensions take them: in order, of one kind."""
    return np.ascontiguousarray(values, kind).data


def by_scipy(asked: Pressing, rounds: int) -> Floats:
    """As :func:`by_extension`: the fallback, and the oracle in the tests."""
    lack, weight, pull, rows = asked.lack, asked.weight, asked.pull, asked.rows
    resistance = csc_array(asked.resistance)
    found = np.zeros(len(pull))
    made = np.zeros(len(lack))  # room made so far, row by row
    for _ in range(rounds):
        # A requirement that has room to spare must not pull: only those still short count in this round.
        pressing = lack > made
        chosen = rows[np.flatnonzero(pressing)]
        scaled = chosen.T.tocsr() * weight[pressing][None, :]
        back, goes = _held_back(asked, found)
        matrix = csc_array(resistance + scaled @ chosen + back)
        # Symmetric and positive: an order of elimination for such, without pivoting, keeps the factors sparse.
        goal = splu(
            matrix, permc_spec="MMD_AT_PLUS_A", diag_pivot_thresh=0.0, options={"SymmetricMode": True}
        ).solve(pull + scaled @ lack[pressing] + goes)
        way = goal - found
        gain = rows @ way
        bent, against = resistance @ way, float(way @ (resistance @ found - pull))
        # Not all the way: on it others may begin to press, which this round did not know of.
        part = _part(asked, (lack - made, gain), (found, way), (against, float(way @ bent)))
        found, made = found + part * way, made + part * gain
        if part * float(np.abs(way).max(initial=0.0)) < CLEAR:
            break
    return found


def _held_back(asked: Pressing, found: Floats) -> tuple[csc_array, Floats]:
    """Second derivative of what it costs that points have gone too far, and what goes with it on the right side."""
    x, y = found.reshape(2, -1)
    count = len(x)
    far = np.hypot(x, y)
    over = np.flatnonzero(far > asked.most)
    x, y, share = x[over] / far[over], y[over] / far[over], asked.most / far[over]
    mixed = share * x * y
    value = asked.held * np.concatenate([1 - share * y * y, mixed, mixed, 1 - share * x * x])
    row = np.concatenate([over, over, over + count, over + count])
    column = np.concatenate([over, over + count, over, over + count])
    goes = np.zeros(2 * count)
    goes[over], goes[over + count] = asked.held * asked.most * x, asked.held * asked.most * y
    return csc_array((value, (row, column)), shape=(2 * count, 2 * count)), goes


def _part(
    asked: Pressing, rows: tuple[Floats, Floats], points: tuple[Floats, Floats], curves: tuple[float, float]
) -> float:
    """How much of a way to go: as far as what is lacking, the curves' resistance and what is gone too far together
    grow less.

    Args:
        asked: the whole.
        rows: what each still lacks, mm, and gains on the whole way.
        points: where they are, and the way.
        curves: slope of the curves' resistance along the way, at its beginning and by how much that grows.
    """
    (lack, gain), (found, way) = rows, points

    def slope(part: float) -> float:
        missed = np.maximum(lack - part * gain, 0.0)
        there = (found + part * way).reshape(2, -1)
        far = np.hypot(*there)
        over = np.maximum(far - asked.most, 0.0) / np.maximum(far, TINY)
        beyond = asked.held * float((over * there * way.reshape(2, -1)).sum())
        return curves[0] + part * curves[1] - float((asked.weight * missed * gain).sum()) + beyond

    if slope(1.0) <= -ROUNDING * curves[0]:
        return 1.0
    low, high = 0.0, 1.0
    for _ in range(HALVINGS):
        middle = (low + high) / 2
        low, high = (middle, high) if slope(middle) < 0 else (low, middle)
    return high  # where what begins to press is known to the next round


press: Callable[[Pressing, int], Floats] = by_scipy if _pressing is None else by_extension
"""The faster one of those that are there."""
