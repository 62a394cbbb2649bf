"""``python -m tests.guide`` writes docs/use-cases.md: every use case with its signature and its first sentence."""

from __future__ import annotations

import ast
from pathlib import Path

ROOT = Path(__file__).parents[1]
PAGE = ROOT / "docs" / "use-cases.md"
HEAD = """# Use cases

Made by `python -m tests.guide`; a test keeps it equal to the code. What they have in common: `DEVELOPERS.md`.
"""


def made() -> str:
    """The page as the code has it."""
    rooms = sorted((ROOT / "service" / "usecases").glob("*.py"))
    return HEAD + "".join(filter(None, map(_module, rooms)))


def _module(path: Path) -> str:
    tree = ast.parse(path.read_text(encoding="utf-8"))
    rows = [row for node in tree.body if isinstance(node, ast.FunctionDef) and (row := _row(node))]
    if not rows:
        return ""
    said = (ast.get_docstring(tree) or "").split("\n\n")[0].replace("\n", " ")
    return f"\n## {path.stem}\n\n{said}\n\n" + "\n".join(rows) + "\n"


def _row(node: ast.FunctionDef) -> str:
    arguments = ast.unparse(node.args)
    if node.name.startswith("_") or node.returns is None or not arguments.startswith("ctx: Context"):
        return ""
    short = arguments.replace("ctx: Context, actor: Actor", "ctx, actor").replace("ctx: Context", "ctx")
    said = (ast.get_docstring(node) or "").split("\n\n")[0].replace("\n", " ")
    return f"- `{node.name}({short}) -> {ast.unparse(node.returns)}`  \n  {said}"


if __name__ == "__main__":
    PAGE.write_text(made(), encoding="utf-8")
