"""The pages of functions are the code's; every use case has its sentence."""

from __future__ import annotations

import pytest

from tests.guide import PAGES, use_cases


@pytest.mark.parametrize("page", PAGES, ids=lambda page: page.stem)
def test_a_page_of_functions_is_the_code(page):
    assert page.read_text(encoding="utf-8") == PAGES[page](), "run: python -m tests.guide"


def test_every_use_case_has_its_sentence():
    rows = use_cases().split("\n- `")[1:]
    assert len(rows) > 100
    assert [row for row in rows if not row.split("  \n  ", 1)[1].split("\n")[0].strip()] == []
