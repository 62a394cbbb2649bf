"""The finding gallery in the docs shows every kind, as the engine tells it now."""

from __future__ import annotations

from typing import get_args

import pytest

from artwork.findings import Kind
from tests.gallery import CUTS, FOLDER, SHOWN, example, page


def test_every_kind_has_its_cut():
    assert set(CUTS) == set(SHOWN) == set(get_args(Kind)) - {"gaps"}


@pytest.mark.parametrize("kind", SHOWN)
def test_a_cut_of_the_gallery_has_the_finding_it_shows(kind):
    _, judged, finding = example(kind)
    assert finding.kind == kind
    assert (judged.verdict == "will-not-carve") == any(each.severity == "stops" for each in judged.findings)
    assert not finding.place.is_empty
    assert (FOLDER / f"{kind}.jpg").exists()


def test_the_page_is_up_to_date():
    """Otherwise: ``python -m tests.gallery``."""
    assert (FOLDER / "README.md").read_text() == page()
