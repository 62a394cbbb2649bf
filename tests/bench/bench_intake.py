"""Intake: tracing against the potrace command, a scan against its floor, a large photo's memory, large drawings."""

from __future__ import annotations

import io
import math
import random
import subprocess
import sys
import tempfile
from pathlib import Path

import cv2
import numpy as np
from PIL import Image

from artwork.intake import Limits, Wishes, read_artwork
from artwork.intake.decoding import decode
from artwork.intake.ink import read_ink
from artwork.outline import Outline
from artwork.tracing import trace
from tests.bench.harness import Measured, alone, case, compare, process_peak_mb

SIDE = 3000


def art(side: int = SIDE) -> np.ndarray:
    """Rings, discs and lettering, (side, side) bool."""
    sheet = np.zeros((side, side), np.uint8)
    rng = np.random.default_rng(5)
    for _ in range(60):
        x, y = rng.integers(0, side, 2).tolist()
        cv2.circle(sheet, (x, y), int(rng.integers(side // 100, side // 10)), 1, int(rng.integers(6, 40)))
    for row in range(12):
        place = (side // 20, side * (row + 1) // 13)
        cv2.putText(sheet, "QUILLFERN GARDEN", place, cv2.FONT_HERSHEY_DUPLEX, side / 800, 1, side // 250)
    return sheet.astype(bool)


def scan(side: int = SIDE) -> bytes:
    """The art as a grainy JPEG."""
    rng = np.random.default_rng(6)
    lit = np.where(art(side), 40, 232).astype(np.float32) + rng.normal(0, 6, (side, side)).astype(np.float32)
    soft = cv2.GaussianBlur(np.clip(lit, 0, 255).astype(np.uint8), (3, 3), 0)
    stream = io.BytesIO()
    Image.fromarray(soft).save(stream, "JPEG", quality=85)
    return stream.getvalue()


@case(issue=3, name="mask to outline against the potrace command", n="9 Mpx", target=1.5)
def mask_to_outline() -> Measured:
    mask = art()
    with tempfile.TemporaryDirectory() as folder:
        bitmap = Path(folder) / "mask.pbm"
        bitmap.write_bytes(f"P4\n{SIDE} {SIDE}\n".encode() + np.packbits(mask, axis=1).tobytes())
        command = ["potrace", "-b", "svg", "-o", str(Path(folder) / "mask.svg"), str(bitmap)]
        return compare(
            lambda: Outline(trace(mask), 1.0).bounds, lambda: subprocess.run(command, check=True), rounds=7
        )


@case(issue=2, name="scan to outline against decoding and tracing alone", n="3000 × 3000 JPEG", target=2.5)
def scan_to_outline() -> Measured:
    data = scan()
    mask = art()

    def floor() -> None:
        np.asarray(Image.open(io.BytesIO(data)))
        trace(mask)

    found = compare(lambda: read_artwork(data, "scan.jpg"), floor, rounds=7)
    return Measured(found.ours, found.rival, note="whole intake: picture of the ink and report with it")


@case(issue=3, name="photo to ink, peak memory of the process", n="25 Mpx JPEG", target=400)
def photo_to_ink() -> Measured:
    make = (
        "import sys, numpy as np, cv2; from tests.bench.bench_intake import art; a = art(5000);"
        "p = np.where(a[:, :, None], np.array([40, 70, 30]), np.array([235, 230, 220])).astype(np.uint8);"
        "cv2.imwrite(sys.argv[1], p, [cv2.IMWRITE_JPEG_QUALITY, 90])"
    )
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "photo.jpg"
        subprocess.run([sys.executable, "-c", make, str(path)], check=True)
        data = path.read_bytes()
    found = alone(lambda: read_ink(decode(data, "jpeg", Limits())[0], Wishes()), rounds=3)
    peak = process_peak_mb()
    return Measured(found.ours, peak_mb=peak, figure=peak, unit="s", note="figure is MB, libraries included")


def drawing(paths: list[str]) -> bytes:
    body = "".join(f'<path d="{path}"/>' for path in paths)
    return f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 1000 1000">{body}</svg>'.encode()


def leaves(count: int) -> bytes:
    """Small closed shapes side by side, six commands each."""
    made = []
    for i in range(count):
        x, y = i % 60 * 16, i // 60 * 16
        made.append(f"M{x} {y}c4-3 8-3 12 0s2 8-1 11-6 4-9 1-4-6-2-9l0-3z")
    return drawing(made)


def coast(count: int) -> bytes:
    """One long wavy edge that meets itself here and there."""
    rng = random.Random(1)
    path = "M500 930"
    for i in range(count):
        angle = i / count * 2 * math.pi
        radius = 400 + 30 * math.sin(angle * 200) + rng.uniform(-1, 1)
        x, y = 500 + radius * math.sin(angle), 500 + radius * math.cos(angle)
        path += f"Q{x + rng.uniform(-0.3, 0.3):.2f} {y:.2f} {x:.2f} {y:.2f}"
    return drawing([path + "z"])


@case(issue=3, name="drawing of many shapes, whole intake", n="20,000 path commands", target=1.0)
def many_shapes() -> Measured:
    data = leaves(20_000 // 6)
    return alone(lambda: read_artwork(data, "leaves.svg"))


@case(
    issue=3,
    name="drawing of one long edge that meets itself, whole intake",
    n="20,000 path commands",
    target=1.0,
)
def one_edge() -> Measured:
    data = coast(20_000)
    return alone(lambda: read_artwork(data, "coast.svg"))
