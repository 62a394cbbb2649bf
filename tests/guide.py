"""``python -m tests.guide`` writes the pages of functions: docs/use-cases.md and docs/contracts.md, from the code."""

from __future__ import annotations

import ast
from collections import defaultdict
from collections.abc import Iterator
from functools import cache
from pathlib import Path

ROOT = Path(__file__).parents[1]
USE_CASES = """# Use cases

Made by `python -m tests.guide`; a test keeps it equal to the code. What they have in common: `DEVELOPERS.md`.
"""
CONTRACTS = """# Contracts between rooms

What the engine and the rooms of the service give to other rooms: every function that another room imports, with
its signature and its first sentence; shapes, units and errors are in its docstring. Made by `python -m tests.guide`;
a test keeps it equal to the code. What the lists have in common: `DEVELOPERS.md`.
"""
_GIVING = (
    "artwork",
    "service.language",
    "service.orders",
    "service.boards",
    "service.batches",
    "service.access",
    "service.mail",
)


def use_cases() -> str:
    """The page of use cases as the code has them."""
    rooms = sorted((ROOT / "service" / "usecases").glob("*.py"))
    return USE_CASES + "".join(filter(None, map(_use_cases_of, rooms)))


def contracts() -> str:
    """The page of what rooms give each other."""
    given: dict[str, set[str]] = defaultdict(set)
    for path in _product():
        here = _module(path)
        for node in ast.walk(_tree(path)):
            if isinstance(node, ast.ImportFrom) and node.module and node.module.startswith(_GIVING):
                for name in node.names:
                    home, function = _home(node.module, name.name)
                    if function is not None and _room(home) != _room(here):
                        given[home].add(name.name)
    return CONTRACTS + "".join(_section(home, names) for home, names in sorted(given.items()))


def _section(home: str, names: set[str]) -> str:
    rows = []
    for name in sorted(names):
        node = _functions(home)[name]
        returns = "" if node.returns is None else f" -> {ast.unparse(node.returns)}"
        rows.append(f"- `{name}({ast.unparse(node.args)}){returns}`  \n  {_first_sentence(node)}")
    return f"\n## {home}\n\n{_first_sentence(_tree(_path(home)))}\n\n" + "\n".join(rows) + "\n"


def _home(module: str, name: str) -> tuple[str, ast.FunctionDef | None]:
    """Where a function that is imported from a module stands: there, or where a package takes it from."""
    if name in _functions(module):
        return module, _functions(module)[name]
    for node in ast.walk(_tree(_path(module))):
        if isinstance(node, ast.ImportFrom) and node.module and any(each.name == name for each in node.names):
            return node.module, _functions(node.module).get(name) if _path(node.module).exists() else None
    return module, None


@cache
def _functions(module: str) -> dict[str, ast.FunctionDef]:
    path = _path(module)
    if not path.exists():
        return {}
    return {node.name: node for node in _tree(path).body if isinstance(node, ast.FunctionDef)}


def _product() -> Iterator[Path]:
    for root in ("artwork", "service", "schema", "seeds"):
        yield from sorted((ROOT / root).rglob("*.py"))


def _module(path: Path) -> str:
    return ".".join(path.relative_to(ROOT).with_suffix("").parts).removesuffix(".__init__")


def _path(module: str) -> Path:
    path = ROOT / module.replace(".", "/")
    return path / "__init__.py" if path.is_dir() else path.with_suffix(".py")


def _room(module: str) -> str:
    """The engine is one; rooms of the service, and modules at its top, stand for themselves."""
    root, *within = module.split(".")
    return root if root == "artwork" else ".".join([root, *within[:1]])


@cache
def _tree(path: Path) -> ast.Module:
    return ast.parse(path.read_text(encoding="utf-8"))


def _first_sentence(node: ast.Module | ast.FunctionDef) -> str:
    return (ast.get_docstring(node) or "").split("\n\n")[0].replace("\n", " ")


def _use_cases_of(path: Path) -> str:
    rows = [row for node in _tree(path).body if isinstance(node, ast.FunctionDef) and (row := _row(node))]
    return f"\n## {path.stem}\n\n{_first_sentence(_tree(path))}\n\n" + "\n".join(rows) + "\n" if rows else ""


def _row(node: ast.FunctionDef) -> str:
    arguments = ast.unparse(node.args)
    if node.name.startswith("_") or node.returns is None or not arguments.startswith("ctx: Context"):
        return ""
    short = arguments.replace("ctx: Context, actor: Actor", "ctx, actor").replace("ctx: Context", "ctx")
    return f"- `{node.name}({short}) -> {ast.unparse(node.returns)}`  \n  {_first_sentence(node)}"


PAGES = {ROOT / "docs" / "use-cases.md": use_cases, ROOT / "docs" / "contracts.md": contracts}

if __name__ == "__main__":
    for page, made in PAGES.items():
        page.write_text(made(), encoding="utf-8")
