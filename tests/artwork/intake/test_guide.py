"""The guide's table of formats: every row names tests that exist and hold what it says."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[3]
TESTS = ROOT / "tests"
SOURCES = "\n".join(path.read_text() for path in (ROOT / "artwork").rglob("*.py"))
_CODE = re.compile(r"`([a-z]+(?:-[a-z0-9]+)+)`")
_TEST = re.compile(r"`((?:\w+/)?test_\w+)`")


def rows() -> list[list[str]]:
    """Format, feature, what happens, test of every row."""
    guide = (ROOT / "docs" / "intake.md").read_text()
    table = [line for line in guide.splitlines() if line.startswith("| ")]
    return [[cell.strip() for cell in line.strip("|").split(" | ")] for line in table[2:]]


def backing(cell: str) -> str:
    """The text of the tests that a row names."""
    names = _TEST.findall(cell)
    assert names, "a row names no test"
    paths = [TESTS / f"{n}.py" if "/" in n else TESTS / "artwork" / "intake" / f"{n}.py" for n in names]
    return "\n".join(path.read_text() for path in paths)


@pytest.mark.parametrize("row", rows(), ids=lambda row: f"{row[0]}: {row[1]}"[:60])
def test_a_row_is_backed_by_a_test_with_its_file(row: list[str]) -> None:
    assert len(row) == 4
    text = backing(row[3])
    for code in _CODE.findall(row[2]):
        assert f'"{code}"' in SOURCES, f"{code} is no remark and no refusal"
        assert code in text, f"{code} is in no test that the row names"


def test_the_table_is_whole() -> None:
    formats = " ".join(row[0] for row in rows())
    for name in (
        "PNG",
        "APNG",
        "GIF",
        "JPEG",
        "TIFF",
        "WebP",
        "BMP",
        "HEIC",
        "AVIF",
        "SVG",
        "PDF",
        "AI",
        "DXF",
        "EPS",
    ):
        assert name in formats
