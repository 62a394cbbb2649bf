"""Sentences in Python sources are found by their looks."""

from __future__ import annotations

import re
from functools import cache

import pytest

from service.language.gather import ROOT, bench, pages
from service.language.sources import sentences


@pytest.mark.parametrize(
    ("source", "found"),
    [
        ('raise Refusal("empty", "The file is empty.")', ["The file is empty."]),
        (
            'def f(n):\n    """Tells it."""\n    return f"It has {n.count:.1f} pages."',
            ["It has {count} pages."],
        ),
        ('x = f"{up(width)} of {up(width)} are left"', ["{width} of {width2} are left"]),
        (
            'def f(w):\n    what = "a thin line"\n    return f"{what} is {w} wide."',
            ["a thin line", "is {w} wide."],
        ),
        (
            "def f(n):\n    return f\"{'Thicken' if n else 'Thin'} its {n} lines.\"",
            ["Thicken", "Thin", "{words} its {n} lines."],
        ),
        ('raise ValueError("no such thing here")', []),
        ('_log.warning("mail %s did not go", mail)', []),
        ('KEY = "will-not-carve"; PATH = "/api/v1/order is"; SQL = text("select a from b")', []),
        ('class A(Ask):\n    n: Annotated[str, Field(description="what it is called")]', []),
    ],
)
def test_sentences(source, found):
    assert list(sentences(source)) == found


_NO_WORDS = re.compile(
    r"\{ edges \{|charset|Accept-Language|^/proof$|There is no such file|max-age|no-cache|script-src|^M\{"
    r"|frame-ancestors"
    r"|^[{}\w\s()]* (?:mm|in|kB|MB|min)\)?$|^one zero a bed$|^screw hole$|^(?:carved slat|personalised piece)$"
)
"""Headers, and keys that look like words."""


@cache
def _marked() -> frozenset[str | None]:
    return frozenset(text for found in (*pages(), *bench()) for text in (found.text, found.many))


@pytest.mark.parametrize("path", sorted((ROOT / "service/pages").glob("*.py")), ids=lambda path: path.stem)
def test_no_sentence_of_a_page_is_left_unmarked(path):
    """What pages say in Python goes through gettext: another sentence in their sources is one that stays English."""
    marked = _marked()
    unmarked = [
        text for text in sentences(path.read_text()) if text not in marked and not _NO_WORDS.search(text)
    ]
    assert not unmarked
