"""Sentences in Python sources are found by their looks."""

from __future__ import annotations

import pytest

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
