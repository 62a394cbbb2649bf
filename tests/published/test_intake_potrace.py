"""The potrace command-line tool (Debian ``potrace`` 1.16) and our tracing of the same bitmap: the same curves."""

from __future__ import annotations

import re
import shutil
import subprocess
from pathlib import Path

import numpy as np
import pytest

from artwork.tracing import trace
from tests.artwork.intake.made import emblem_truth

UNIT = 1000
"""The tool writes coordinates as whole multiples of 1/UNIT pixel."""

pytestmark = pytest.mark.skipif(
    shutil.which("potrace") is None, reason="the potrace command is not installed"
)


def by_command(mask: np.ndarray, folder: Path) -> list[np.ndarray]:
    """Rings of corner and end points, (n, 2) pixels, as the tool's SVG gives them."""
    bitmap = folder / "mask.pbm"
    height, width = mask.shape
    bitmap.write_bytes(f"P4\n{width} {height}\n".encode() + np.packbits(mask, axis=1).tobytes())
    out = folder / "mask.svg"
    subprocess.run(["potrace", "-b", "svg", "--flat", "-u", str(UNIT), "-o", out, bitmap], check=True)
    (path,) = re.findall(r'<path d="([^"]+)"', out.read_text())
    rings, here = [], np.zeros(2)
    for command, numbers in re.findall(r"([MmLlCcZz])([^MmLlCcZz]*)", path):
        points = np.array(re.findall(r"-?\d+", numbers), float).reshape(-1, 2)
        if command in "Zz":
            here = rings[-1][0]
            continue
        step = 3 if command in "Cc" else 1
        for at in range(0, len(points), step):
            end = points[at + step - 1]
            here = here + end if command.islower() else end
            if command in "Mm" and at == 0:
                rings.append([])
            rings[-1].append(here)
    return [np.array(ring) / UNIT for ring in rings]


def bitmaps() -> dict[str, np.ndarray]:
    rng = np.random.default_rng(4)
    blobs = np.zeros((300, 413), bool)
    y, x = np.mgrid[0:300, 0:413]
    for _ in range(40):
        cy, cx, r = rng.uniform(0, 300), rng.uniform(0, 413), rng.uniform(2, 40)
        blobs ^= (y - cy) ** 2 + (x - cx) ** 2 < r * r
    return {"emblem": emblem_truth(400), "blobs": blobs, "noise": rng.random((120, 130)) < 0.4}


@pytest.mark.parametrize("name", bitmaps())
def test_the_command_gives_the_same_curves(name: str, tmp_path: Path) -> None:
    mask = bitmaps()[name]
    theirs = by_command(mask, tmp_path)
    ours = [contour.knots for contour in trace(mask)]
    assert len(ours) == len(theirs)
    # each ring by its points: where a ring starts is the writer's choice, and rounding adds up along a ring
    for mine in ours:
        nearest = [r for r in theirs if np.abs(r.min(axis=0) - mine.min(axis=0)).max() < 0.05]
        close = [r for r in nearest if np.abs(r.max(axis=0) - mine.max(axis=0)).max() < 0.05]
        assert close, "a ring of ours is not among the tool's"
        off = [np.hypot(*(mine[:, None] - r).transpose(2, 0, 1)).min(axis=1).max() for r in close]
        assert min(off) < 0.02


def test_nodes_are_potraces_own() -> None:
    """No more segments than potrace made: corners count as two straight ones, as potrace draws them."""
    import potracecffi

    mask = emblem_truth(400)
    state = potracecffi.trace(np.ascontiguousarray(mask[::-1].astype(np.uint8)))
    segments = sum(path.curve.n for path in potracecffi.iter_paths(state))
    nodes = sum(len(contour.knots) for contour in trace(mask))
    assert segments <= nodes <= 2 * segments
