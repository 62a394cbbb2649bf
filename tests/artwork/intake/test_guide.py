"""The guide's table of formats: every row has files made for it, which meet exactly what the row says."""

from __future__ import annotations

import re
from collections.abc import Iterator
from pathlib import Path

import pytest

from artwork.errors import EngineError
from artwork.intake import Reading
from tests.artwork.intake.made import codes, read
from tests.artwork.intake.table_drawings import DRAWINGS
from tests.artwork.intake.table_pictures import PICTURES

ROOT = Path(__file__).parents[3]
TESTS = ROOT / "tests"
FILES = PICTURES | DRAWINGS
_CODE = re.compile(r"`([a-z]+(?:-[a-z0-9]+)*)`")
_TEST = re.compile(r"`((?:\w+/)?test_\w+)`")
_SOMETHING = frozenset({"vector", "traced", "refused"})


def rows() -> dict[str, tuple[str, str]]:
    """Format and feature of every row → what happens, and the tests that go deeper."""
    guide = (ROOT / "docs" / "intake.md").read_text()
    lines = [line for line in guide.splitlines() if line.startswith("| ")]
    cells = [[cell.strip() for cell in line.strip("|").split(" | ")] for line in lines[2:]]
    assert all(len(each) == 4 for each in cells)
    return {f"{kind}: {feature}": (outcome, tests) for kind, feature, outcome, tests in cells}


def answers(row: str) -> Iterator[Reading | EngineError]:
    for sent in FILES[row]():
        try:
            yield read(sent.data, sent.name, sent.limits, **sent.wishes)
        except EngineError as refusal:
            yield refusal


def test_every_row_has_its_files_and_no_file_is_without_a_row() -> None:
    assert set(FILES) == set(rows())


@pytest.mark.parametrize("row", rows())
def test_the_files_of_a_row_meet_what_it_says(row: str) -> None:
    """Taken as vectors, traced or refused as stated; every code it names is met, and no other warning is."""
    said = rows()[row][0]
    named = set(_CODE.findall(said))
    found = list(answers(row))
    assert found, "a row without a file"
    outcomes = {each.kind if isinstance(each, Reading) else "refused" for each in found}
    stated = {word for word in _SOMETHING if re.search(rf"\b{word}\b", said)}
    assert stated, "the row does not say what becomes of its files"
    assert outcomes == stated
    met = {code for each in found for code in (codes(each) if isinstance(each, Reading) else {each.code})}
    assert named <= met
    warned = {
        r.code for each in found if isinstance(each, Reading) for r in each.remarks if r.severity == "warns"
    }
    assert warned <= named, "a warning that the row does not name"
    taken = [each for each in found if isinstance(each, Reading)]
    if "carried" in said:
        assert all(each.outline.stated_mm is not None for each in taken)
    if "never taken for a size" in said:
        assert all(each.outline.stated_mm is None for each in taken)


@pytest.mark.parametrize("row", rows())
def test_the_tests_that_a_row_names_are_there_and_about_its_codes(row: str) -> None:
    said, named = rows()[row]
    names = _TEST.findall(named)
    assert names, "a row names no test"
    paths = [TESTS / f"{n}.py" if "/" in n else TESTS / "artwork" / "intake" / f"{n}.py" for n in names]
    text = "\n".join(path.read_text() for path in paths)
    assert [code for code in _CODE.findall(said) if code not in text] == []


def test_the_table_is_whole() -> None:
    formats = " ".join(row.split(":")[0] for row in rows())
    kinds = "PNG APNG GIF JPEG TIFF WebP BMP HEIC AVIF SVG PDF AI DXF EPS EMF WMF DWG"
    assert [kind for kind in kinds.split() if kind not in formats] == []
