"""docs/use-cases.md is the code's; every use case has its sentence."""

from __future__ import annotations

from tests.guide import PAGE, made


def test_the_page_of_use_cases_is_the_code():
    assert PAGE.read_text(encoding="utf-8") == made(), "run: python -m tests.guide"


def test_every_use_case_has_its_sentence():
    rows = made().split("\n- `")[1:]
    assert len(rows) > 100
    assert [row for row in rows if not row.split("  \n  ", 1)[1].split("\n")[0].strip()] == []
