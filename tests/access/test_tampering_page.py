"""docs/tampering.md names tests that are there."""

from __future__ import annotations

import ast
import re
from pathlib import Path

ROOT = Path(__file__).parents[2]
PAGE = (ROOT / "docs" / "tampering.md").read_text(encoding="utf-8")
IN_ARCHIVES = "tests/service/batches/"


def test_every_row_names_a_test_that_is_there():
    _, _, archives = PAGE.partition("## In an archive")
    whole = [*re.findall(r"`(tests/[\w/]+\.py)::(\w+)`", PAGE)]
    whole += [(IN_ARCHIVES + file, name) for file, name in re.findall(r"`(test_\w+\.py)::(\w+)`", archives)]
    assert len(set(whole)) >= 15
    for path, name in whole:
        tree = ast.parse((ROOT / path).read_text(encoding="utf-8"))
        assert name in {node.name for node in tree.body if isinstance(node, ast.FunctionDef)}, (path, name)
