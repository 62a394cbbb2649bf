"""The worked figures of docs/how-it-decides.md are the engine's."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from artwork import tooling, wood
from artwork.axis import study
from artwork.findings import check
from artwork.findings.edges import edge_land
from artwork.findings.forgiving import NECK_SHARE
from artwork.findings.wording import down, up
from artwork.workpiece import Allowances, Bit
from tests.artwork.drawn import board, cut, rectangle, straight

PAGE = " ".join((Path(__file__).parents[3] / "docs" / "how-it-decides.md").read_text().split())
BIT, SHOP = Bit("v60"), Allowances()
TAN = tooling.slope(BIT)


def land(across: float) -> float:
    return up(tooling.least_land(SHOP, across) + tooling.land_loss(BIT, SHOP))


@pytest.mark.parametrize(
    ("words", "figure"),
    [
        ("tan φ = {:.4f}", TAN),
        ("2 · tan φ = {:.4f} of width", 2 * TAN),
        ("= {:.3f} → 1.89", tooling.least_line(BIT, SHOP, 0.0)),
        ("→ {:.2f}", up(tooling.least_line(BIT, SHOP, 0.0))),
        ("depth that reads {:.3f}", tooling.line_costs(BIT, SHOP)[1].width),
        ("sanding {:.3f}", tooling.line_costs(BIT, SHOP)[2].width),
        ("uneven board {:.3f}", tooling.line_costs(BIT, SHOP)[3].width),
        ("{:.2f} at 6 mm", tooling.drop(6.0, 9.525)),
        ("1.1547 = {:.3f} deep", tooling.groove_depth(1.5, BIT)),
        ("told as {:.2f}", down(tooling.worst_depth(1.5, 9.0, BIT, SHOP, 0.0))),
        ("of 20° loses 0.945 / 0.1736 = {:.1f}", 0.945 / np.sin(np.radians(10))),
        ("tan φ = {:.3f}`", tooling.land_loss(BIT, SHOP)),
        ("a land needs {:.2f} along", land(0.0)),
        ("along, {:.2f} across", land(1.0)),
        ("2.0 + 0.462 = {:.2f}", land(0.5)),
        ("a third | {:.2f}", down(tooling.depth_limit(board(), BIT, SHOP))),
        ("high board | {:.2f}", BIT.height - 0.4),
        ("less 0.4 | {:.2f} | | thickness", down(tooling.groove_depth(BIT.diameter, BIT) - 0.4)),
        ("1.1547 · 8.467 = {:.2f}", tooling.groove_width(25.4 / 3, BIT)),
        ("0.00234 · 3 = {:.2f}", wood.change(139.7, wood.species("western-redcedar"), 9, 12)),
        ("half of 0.462: {:.2f}", edge_land(board(), BIT, SHOP)),
        ("sin 2.75° = {:.1f}, 79 %", 0.945 / np.sin(np.arctan(1.2 / 25))),
        ("1.1547 · 0.7 = {:.2f}", tooling.groove_width(0.7, BIT)),
        ("1.1547 · 1.3 = {:.3f}", tooling.least_line(BIT, replace(SHOP, unevenness=0.2), 0.0)),
        ("(0.8 · 2.97 = {:.2f}", up(NECK_SHARE * land(1.0))),
        ("2.5 + 0.231: {:.2f}", edge_land(board(round_over=0.0), BIT, SHOP)),
        ("the rounding ({:.2f}) take", tooling.drop(2.933, 9.525)),
        ("over 3.6 asks for {:.3f}", up(3.86 / 3.6, 0.001)),
    ],
)  # fmt: skip
def test_the_page_tells_what_the_engine_computes(words, figure):
    assert words.format(figure) in PAGE


def test_the_line_of_the_example_stops():
    outline = straight(rectangle(-30, 0, 60, 1.5), rectangle(-30, 10, 60, 6))
    assert check(cut(outline), study(outline)).verdict == "will-not-carve"
