"""docs/order-life.md shows the table of states as it is; SLATPROOF_WRITE_DOCS=1 writes it anew."""

from __future__ import annotations

import os
from pathlib import Path

from service.orders import drawing

PAGE = Path(__file__).parents[3] / "docs" / "order-life.md"


def filled(page: str) -> str:
    for name in ("order_drawing", "order_table", "carving_drawing", "carving_table"):
        begin, end = f"<!-- {name} -->\n", f"\n<!-- end {name} -->"
        before, _, rest = page.partition(begin)
        _, _, after = rest.partition(end)
        page = before + begin + getattr(drawing, name)() + end + after
    return page


def test_the_drawing_in_the_docs_is_the_code():
    page = PAGE.read_text(encoding="utf-8")
    if os.environ.get("SLATPROOF_WRITE_DOCS"):
        PAGE.write_text(filled(page), encoding="utf-8")
    assert PAGE.read_text(encoding="utf-8") == filled(page)
    assert "approved --> released: release" in page
