"""Simulated shops whose test boards are fitted: how often the intervals hold the truth, and whether what is proposed is
safe.

A proposal is unsafe where a line or a land that it lets pass would hold less often than the share that the figures
are for: the need is worked out from the shop's true figures.
"""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass
from functools import cache

import numpy as np

from artwork.testboard.design import TestBoard, lay_out
from artwork.testboard.features import Blank
from artwork.testboard.fitting import fit
from artwork.testboard.proposing import Proposal, propose
from artwork.testboard.simulated import Shop, any_shop, measured
from artwork.tooling import least_line
from artwork.workpiece import Allowances, Bit


@cache
def board() -> TestBoard:
    """On the usual offcut with the usual bit."""
    return lay_out(Blank(), Bit("v60"), Allowances())


@dataclass(frozen=True)
class Tried:
    """What became of all shops.

    Attributes:
        told, held: how many intervals were told of each figure, and how many held the truth.
        unsafe: how many shops were proposed something unsafe, by what it was.
        shops: how many.
    """

    told: Counter[str]
    held: Counter[str]
    unsafe: Counter[str]
    shops: int

    @property
    def coverage(self) -> float:
        """Share of all intervals that hold the truth."""
        return self.held.total() / self.told.total()


def tried(count: int, seed: int = 21) -> Tried:
    """That many shops."""
    told: Counter[str] = Counter()
    held: Counter[str] = Counter()
    unsafe: Counter[str] = Counter()
    for number in range(count):
        rng = np.random.default_rng([seed, number])
        shop = any_shop(rng)
        found = fit(board().plan, measured(board().plan, shop, rng))
        truth = shop.truth()
        for figure in found.figures:
            if figure.key in truth:
                told[figure.key] += 1
                held[figure.key] += figure.low <= truth[figure.key] <= figure.high
        wrong = what_is_unsafe(propose(found, Allowances(), board().plan.bit), shop)
        unsafe.update(wrong)
        unsafe["any"] += bool(wrong)
    return Tried(told, held, unsafe, count)


def what_is_unsafe(proposal: Proposal, shop: Shop) -> list[str]:
    """Whether lines and lands that pass are less than this shop truly needs; the board's unevenness as it is set."""
    truth, slack = shop.truth(), 1e-9
    depth = truth["least_depth"] + shop.sanding + proposal.allowances.unevenness
    line = shop.tip_flat + 2 * depth * shop.slope
    wrong = []
    if least_line(proposal.bit, proposal.allowances, 0.0) < line - slack:
        wrong.append("line")
    if proposal.allowances.land_along < truth["land-0-32"] - slack:
        wrong.append("land along")
    if proposal.allowances.land_across < truth["land-90-32"] - slack:
        wrong.append("land across")
    return wrong
