"""The list of use cases in DEVELOPERS.md is the code; SLATPROOF_WRITE_DOCS=1 writes it anew."""

from __future__ import annotations

import ast
import os
from pathlib import Path

ROOT = Path(__file__).parents[3]
PAGE = ROOT / "DEVELOPERS.md"
MODULES = (
    "shop", "pricing", "ordering", "artworks", "cutting", "approving", "producing", "suites", "machining", "marking",
    "planning", "looking", "keeping", "upkeeping", "retrying", "wellness", "jobs",
)  # fmt: skip
BEGIN = "```python\n# service.usecases.shop\n"


def listed(module: str) -> list[str]:
    tree = ast.parse((ROOT / "service" / "usecases" / f"{module}.py").read_text(encoding="utf-8"))
    lines = [f"# service.usecases.{module}"]
    for node in tree.body:
        if isinstance(node, ast.FunctionDef) and not node.name.startswith("_") and node.returns:
            arguments = ast.unparse(node.args)
            if arguments.startswith("ctx: Context"):
                short = arguments.replace("ctx: Context, actor: Actor", "ctx, actor")
                short = short.replace("ctx: Context", "ctx")
                lines.append(f"def {node.name}({short}) -> {ast.unparse(node.returns)}")
    return lines


def test_the_list_in_the_guide_is_the_code():
    page = PAGE.read_text(encoding="utf-8")
    before, begin, rest = page.partition(BEGIN)
    assert begin
    _, end, after = rest.partition("\n```")
    lines = [line for module in MODULES for line in listed(module)]
    made = before + "```python\n" + "\n".join(lines) + end + after
    if os.environ.get("SLATPROOF_WRITE_DOCS"):
        PAGE.write_text(made, encoding="utf-8")
    assert PAGE.read_text(encoding="utf-8") == made
    assert len(lines) > 60


def test_every_use_case_has_its_sentence():
    for module in MODULES[:-1]:
        tree = ast.parse((ROOT / "service" / "usecases" / f"{module}.py").read_text(encoding="utf-8"))
        for node in tree.body:
            if isinstance(node, ast.FunctionDef) and not node.name.startswith("_"):
                assert ast.get_docstring(node), node.name
