"""``python -m tests.gallery``: writes docs/gallery/, every kind of finding from a cut that has it."""

from __future__ import annotations

import io
import sys
from collections.abc import Callable, Iterable, Sequence
from dataclasses import replace
from pathlib import Path
from typing import get_args

import numpy as np
from PIL import Image, ImageChops, ImageDraw
from shapely import Point

from artwork.axis import study
from artwork.cut import Cut
from artwork.findings import Check, Finding, Kind, check
from artwork.outline import Outline
from artwork.preview import preview_png
from artwork.workpiece import Allowances, KeepOut, Slat
from tests.artwork.drawn import board, cut, ellipse, rectangle, ring, straight

FOLDER = Path(__file__).parents[1] / "docs" / "gallery"
PX_PER_MM = 5.0
FINER = 4
"""How much finer a drawing is drawn than it is shown: smooth edges."""
BORDER_MM = 8.0
"""Paper around the slat in a preview, mm."""
SHOP = replace(Allowances(), end_margin=5.0)
"""The default shop, but on boards short enough for a page."""


def small(width: float = 110.0, length: float = 60.0, **changes: object) -> Slat:
    return board(width=width, length=length, grain_deg=0.0, **changes)


def on_small(outline: Outline, slat: Slat | None = None, **changes: object) -> Cut:
    return cut(outline, slat or small(), **{"y": 30.0, "allowances": SHOP, **changes})


def leaf(half: float, length: float = 60.0) -> list[tuple[float, float]]:
    """A leaf with two points, its sides arcs of a sine."""
    x = np.linspace(-length / 2, length / 2, 61)
    bulge = half * np.cos(np.pi * x / length)
    side = list(zip(x, -bulge, strict=True))[:-1]
    return [*side, *list(zip(x[::-1], bulge[::-1], strict=True))[:-1]]


def necked() -> Outline:
    """A stroke that gets too thin in the middle."""
    x = np.linspace(-35, 35, 141)
    half = 0.75 + 2.25 * (x / 35) ** 2
    return straight([*zip(x, -half, strict=True), *zip(x[::-1], half[::-1], strict=True)])


def dotted() -> Outline:
    """Two strokes with dots over them."""
    bars = [rectangle(-30 + 20 * i, -12, 4, 18) for i in range(4)]
    return Outline((*(ring(bar) for bar in bars), *(ellipse(0.45, 1.2, -28 + 20 * i, 10) for i in range(4))))


def dusty() -> Outline:
    """A bar with dust around it and a pinhole in it."""
    dust = [
        ellipse(0.2, 0.2, *place) for place in ((-28, 9), (-19, 14), (-3, 11), (12, 15), (24, 8), (2, -9))
    ]
    return Outline((ring(rectangle(-30, -4, 60, 8)), ellipse(0.2, 0.2, 12, 0, hole=True), *dust))


def vee() -> Outline:
    """Two strokes that meet in a point, with the wood between them ending in one."""
    return straight([(0, -22), (10, 20), (6, 20), (0, -8), (-6, 20), (-10, 20)])


def letter_o() -> Outline:
    return Outline((ellipse(9, 12, arcs=8), ellipse(1.3, 4, arcs=8, hole=True)))


CUTS: dict[Kind, Callable[[], Cut]] = {
    "line": lambda: on_small(necked()),
    "tip": lambda: on_small(straight(leaf(4.5))),
    "vanishing": lambda: on_small(dotted()),
    "fleck": lambda: on_small(dusty()),
    "land": lambda: on_small(straight(rectangle(-30, 1, 60, 5), rectangle(-30, -5.2, 60, 5))),
    "land-tip": lambda: on_small(vee()),
    "counter": lambda: on_small(letter_o()),
    "depth": lambda: on_small(
        straight(rectangle(-30, -3, 60, 6)), small(thickness=4.2), allowances=replace(SHOP, least_wood=2.0)
    ),
    "hidden": lambda: on_small(
        straight(rectangle(-35, -4, 70, 8)),
        small(keep_outs=(KeepOut(Point(10, 30).buffer(3), "screw from behind", free_depth=5.0),)),
        allowances=replace(SHOP, keep_out_margin=4.0),
    ),
    "round-over": lambda: on_small(straight(rectangle(-35, -2, 70, 4)), y=7.0),
    "edge-margin": lambda: on_small(straight(rectangle(-35, -2, 70, 4)), y=12.5),
    "end-margin": lambda: on_small(straight(rectangle(-35, -3, 70, 6)), x=8.0, allowances=Allowances()),
    "off-slat": lambda: on_small(straight(rectangle(-35, -3, 70, 6)), x=32.0),
    "keep-out": lambda: on_small(
        straight(rectangle(-35, -3, 70, 6)),
        small(keep_outs=(KeepOut(Point(38, 44).buffer(3), "screw hole"),)),
    ),
    "edge-land": lambda: on_small(
        straight(rectangle(-35, -3, 70, 6)),
        small(round_over=0.0),
        y=4.0,
        allowances=replace(SHOP, edge_margin=0.0),
    ),
    "touching": lambda: on_small(
        straight([(-30, -9), (0.01, -9), (0.01, 0), (30, 0), (30, 9), (0, 9), (0, 0.01), (-30, 0.01)])
    ),
    "resolution": lambda: on_small(Outline((ring(rectangle(-30, -1.2, 60, 2.4)),), pixel=0.9)),
}
"""One cut for every kind of finding but ``"gaps"``, which is made of a picture over several slats."""
SHOWN = tuple(kind for kind in get_args(Kind) if kind != "gaps")


def example(kind: Kind) -> tuple[Cut, Check, Finding]:
    """The cut of a kind, judged, and its first finding of that kind."""
    shown = CUTS[kind]()
    judged = check(shown, study(shown.outline))
    return shown, judged, next(finding for finding in judged.findings if finding.kind == kind)


def page() -> str:
    """The gallery's text."""
    parts = [
        "# Finding gallery",
        "",
        "Every kind of finding on a small board, as `python -m tests.gallery` draws it: on the left what was",
        "drawn, true to size on the slat, on the right the preview that is signed: what will be left of it.",
        "Diamonds must be changed (the finding stops), circles are worth knowing (it warns).",
        "",
    ]
    for kind in SHOWN:
        _, judged, finding = example(kind)
        parts += [
            f"## {kind} ({finding.severity})",
            "",
            f"![{kind}]({kind}.jpg)",
            "",
            finding.message,
            "",
            f"*{finding.cure}*",
            "",
            "| measured | required | nominal | at worst | places | length | verdict |",
            "| --- | --- | --- | --- | --- | --- | --- |",
            f"| {told(finding.measured)} | {told(finding.required)} | {told(finding.nominal)} "
            f"| {told(finding.worst)} | {finding.count} | {told(finding.length)} | {judged.verdict} |",
            "",
        ]
    return "\n".join(parts)


def told(value: float | None) -> str:
    return "–" if value is None else f"{value:.2f}"


def drawn(shown: Cut, size: tuple[int, int]) -> Image.Image:
    """The art as it was drawn, black on the white face of its slat; holes stay white."""
    fine = PX_PER_MM * FINER
    left, _, _, high = shown.slat.outline.bounds

    def pixels(points: Iterable[Sequence[float]]) -> list[tuple[float, float]]:
        return [((x - left + BORDER_MM) * fine, (high - y + BORDER_MM) * fine) for x, y in points]

    canvas = (size[0] * FINER, size[1] * FINER)
    paper = Image.new("RGB", canvas, "#f4f2ee")
    face = ImageDraw.Draw(paper)
    face.polygon(pixels(shown.slat.outline.exterior.coords), fill="white", outline="#8a8f8c", width=FINER)
    ink = Image.new("1", canvas)
    for contour in shown.placed().contours:
        ring = Image.new("1", canvas)
        ImageDraw.Draw(ring).polygon(pixels(contour.polyline(0.01)), fill=1)
        ink = ImageChops.logical_xor(ink, ring)
    paper.paste("#14201b", mask=ink)
    for keep_out in shown.slat.keep_outs:
        face.polygon(pixels(keep_out.shape.exterior.coords), outline="#a62a06", width=2 * FINER)
    return paper.resize(size, Image.Resampling.LANCZOS)


def side_by_side(shown: Cut, judged: Check) -> Image.Image:
    """What was drawn, and what will be left of it."""
    wood = Image.open(io.BytesIO(preview_png(shown, judged, PX_PER_MM))).convert("RGB")
    both = Image.new("RGB", (2 * wood.width, wood.height))
    both.paste(drawn(shown, wood.size))
    both.paste(wood, (wood.width, 0))
    return both


def main() -> int:
    FOLDER.mkdir(parents=True, exist_ok=True)
    for kind in CUTS:
        shown, judged, _ = example(kind)
        side_by_side(shown, judged).save(FOLDER / f"{kind}.jpg", quality=82, optimize=True)
    (FOLDER / "README.md").write_text(page())
    return 0


if __name__ == "__main__":
    sys.exit(main())
