"""Issue 19: how long somebody waits for the verdict on a photograph that the service has said it has."""

from __future__ import annotations

import io
import os
import statistics
import tempfile
import time
from pathlib import Path

import cv2
import numpy as np
from PIL import Image

from artwork.tracing import trace
from seeds.shop import load
from tests.bench.harness import Measured, case, seconds
from tests.parts.small import SmallShape
from tests.running import FROM_HERE, Caller, carvings

BYTES = 272_000
ROUNDS = 7
FLOORS = 1.8
"""So many times the floor may an upload take, beside the seconds of the target."""
LINES = [{"model_key": "longwalk-bench", "quantity": 1, "slats": ["back-centre"]}]


def photograph(number: int) -> bytes:
    """The scan once more, each a little narrower: nothing that was found out of another one helps."""
    scan = Image.open(io.BytesIO(load().artwork("scan.jpg").data)).convert("L")
    narrower = scan.crop((number, 0, scan.width, scan.height))
    for quality in range(90, 0, -1):
        file = io.BytesIO()
        narrower.save(file, "JPEG", quality=quality)
        if file.tell() <= BYTES:
            return file.getvalue()
    raise AssertionError("it does not get that small")


def floor(data: bytes) -> None:
    """The least that any program must do: decode, trace, and know how far each place is from the edge."""
    grey = np.asarray(Image.open(io.BytesIO(data)).convert("L"))
    _, ink = cv2.threshold(grey, 0, 1, cv2.THRESH_BINARY_INV | cv2.THRESH_OTSU)
    trace(ink.astype(bool))
    cv2.distanceTransform(ink, cv2.DIST_L2, cv2.DIST_MASK_PRECISE)


def waited(url: str, data: bytes) -> float:
    """Seconds from the answer to an upload until its verdict is to be had, looked for every 10 ms."""
    with Caller(base_url=url, timeout=60, headers=FROM_HERE) as visitor:
        placed = visitor.send_order(lines=LINES)
    token = {"Authorization": f"Bearer {placed['link_token']}"}
    with Caller(base_url=url, timeout=60, headers=token) as client:
        order = placed["order"]
        client.upload(order["id"], "photograph.jpg", data, [c["id"] for c in carvings(order)])
        begun = time.perf_counter()
        while (state := carvings(client.order(order["id"]))[0]["state"]) in {"reading", "checking"}:
            time.sleep(0.01)
        assert state == "checked", state
        return time.perf_counter() - begun


@case(issue=19, name="upload acknowledged to verdict", n="272 kB JPEG", target=1.2)
def upload_to_verdict() -> Measured:
    """Medians over different photographs, by turns with the floor of each."""
    with tempfile.TemporaryDirectory() as folder:
        shape = SmallShape(Path(folder) / "shape", repair_seconds=1)
        shape.start()
        try:
            ours, theirs = [], []
            for number in range(ROUNDS + 1):
                data = photograph(number)
                ours.append(waited(shape.url, data))
                theirs.append(seconds(lambda sent=data: floor(sent)))  # type: ignore[misc]
        finally:
            shape.stop()
    mine, least = statistics.median(ours[1:]), statistics.median(theirs[1:])
    note = f"{mine / least:.2f} × the floor of {least:.2f} s (target {FLOORS}); load {os.getloadavg()[0]:.0f}"
    return Measured(mine, least, figure=mine, note=note)
