"""W3C SVG 1.1 test files against their reference pictures (Debian ``librsvg2-tests``; see ``w3c.py``).

``SLATPROOF_W3C`` sets how many files are compared; the default keeps the suite short. Of all 155, 69 are flat
art taken as vectors (65 at 0.98 or better; the other four are listed below); the rest are about what cannot be
carved, and each says so by the remark or code that it got (counted in ``docs/intake.md``).
"""

from __future__ import annotations

import os
import random

import pytest

from tests.published.w3c import FOLDER, compare, files

COUNT = int(os.environ.get("SLATPROOF_W3C", "26"))
LEAST = 0.98
ELSEWHERE = {
    "pservers-grad-08-b": "about gradients on text, and nothing but text is in it",
    "text-tref-01-b": "about text",
    "text-tref-02-b": "about text",
    "text-text-08-b": "about text",
}

pytestmark = pytest.mark.skipif(not FOLDER.exists(), reason="Debian's librsvg2-tests is not installed")


def chosen() -> list:
    found = [path for path in files() if path.stem not in ELSEWHERE]
    return sorted(random.Random(11).sample(found, min(COUNT, len(found))))


@pytest.mark.parametrize("path", chosen(), ids=lambda path: path.stem)
def test_flat_art_is_the_reference_picture(path) -> None:
    comparison = compare(path)
    if comparison.reason:
        pytest.skip(f"not flat art taken as vectors: {comparison.reason}")
    assert comparison.overlap >= LEAST


def test_a_good_share_of_the_files_is_compared() -> None:
    """Skipping too much would show nothing."""
    compared = [path for path in chosen() if not compare(path).reason]
    assert len(compared) >= 0.3 * len(chosen())
