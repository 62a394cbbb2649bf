"""The example of docs/runs-and-quotes.md runs as it is printed."""

from __future__ import annotations

import re
from pathlib import Path

GUIDE = Path(__file__).parents[3] / "docs" / "runs-and-quotes.md"


def test_the_guides_example_runs(capsys):
    [code] = re.findall(r"```python\n(.*?)```", GUIDE.read_text(encoding="utf-8"), re.DOTALL)
    space: dict[str, object] = {}
    exec(compile(code, str(GUIDE), "exec"), space)
    assert capsys.readouterr().out.startswith("3 of 3 pieces will carve")
    assert space["first_page"].startswith(b"\x89PNG")
    assert space["sheet"].startswith(b"%PDF")
