"""The main job from a file's bytes to what the client sees, against the least that any program must do for it."""

from __future__ import annotations

import io

import cv2
import numpy as np
from PIL import Image

from artwork.axis import study
from artwork.cut import Cut
from artwork.findings import check
from artwork.intake import read_artwork
from artwork.placing import largest_fit
from artwork.preview import preview_png
from artwork.tracing import trace
from seeds.shop import load
from tests.bench.harness import Measured, case, compare

SHOP = load()


@case(issue=2, name="upload to findings, placement and preview", n="3000 × 3000 scan", target=2.5)
def upload_to_preview() -> Measured:
    """Floor: Pillow's decoding, one libpotrace trace and one distance transform of the same picture."""
    data = SHOP.artwork("scan.jpg").data
    slat = SHOP.model("longwalk-bench").slat("back-centre")

    def ours() -> None:
        outline = read_artwork(data, "scan.jpg").outline
        cut = Cut(outline, slat, largest_fit(outline, slat, SHOP.allowances), SHOP.bits[0], SHOP.allowances)
        preview_png(cut, check(cut, study(outline)))

    def floor() -> None:
        grey = np.asarray(Image.open(io.BytesIO(data)).convert("L"))
        _, ink = cv2.threshold(grey, 0, 1, cv2.THRESH_BINARY_INV | cv2.THRESH_OTSU)
        trace(ink.astype(bool))
        cv2.distanceTransform(ink, cv2.DIST_L2, cv2.DIST_MASK_PRECISE)

    return compare(ours, floor)
