"""Sentences in Python sources, for the catalogue of what is told: none has to be marked, they are known by their looks.

An f-string is a message with ``{named}`` values. Where a value is itself made of words within the same function, as in
``f"{what} {needs}; {depth} is left."``, the f-string is taken apart there: each part is a message of its own.
"""

from __future__ import annotations

import ast
import re
from collections.abc import Iterator
from dataclasses import dataclass, field

_PROSE = re.compile(
    r"[A-Za-z’]{2,}[,:;]?\s+[A-Za-z’(“‘'{±0-9]|\}[,:;.]?\s[a-z]{2,}|[A-Za-z]{2,}[,:]?\s\{|^[A-Z][a-z]+[.:…]$"
)
_NO_PROSE = re.compile(r"[<>\n]|=\"|^[A-Z_]+:|\b[a-z]+_[a-z]+\b(?![^{]*\})|/api/|; Path=|^\w+://")
_FOR_PROGRAMMERS = frozenset({"MEANINGS"})
"""Tables whose sentences are in the contracts alone, which are in English."""
_NOT_TOLD = frozenset(
    {
        "description",
        "summary",
        "doc",
        "help",
        "encoding",
        "title",
        "examples",
        "pattern",
        "name",
        "once",
        "key",
    }
)
"""Keywords whose strings document something, or are no words."""
_OUR_FAULT = frozenset({
    "ValueError", "RuntimeError", "TypeError", "AssertionError", "KeyError", "NotImplementedError", "LookupError",
})  # fmt: skip
_LOGGED = frozenset(
    {"debug", "info", "warning", "error", "exception", "text", "execute", "compile", "getLogger"}
)
_WORD = re.compile(r"(?<![\w{])[A-Za-z]{2,}(?![\w}])")
_JOINING = frozenset({"or", "and"})
_CUT = "\0"


def sentences(source: str, *, words: bool = False) -> Iterator[str]:
    """Every sentence of a module, and every part that sentences are made of; ``words``: single words too."""
    finder = _Finder(words=words)
    finder.visit(ast.parse(source))
    yield from dict.fromkeys(finder.found)


@dataclass
class _Finder(ast.NodeVisitor):
    """Goes through a module; ``phrases`` are the variables of the function at hand that hold words,
    ``within`` says how many f-strings the visitor is in.
    """

    found: list[str] = field(default_factory=list)
    phrases: frozenset[str] = frozenset()
    within: int = 0
    words: bool = False

    def visit_FunctionDef(self, node: ast.FunctionDef) -> None:
        outer, self.phrases = self.phrases, _phrases(node)
        for part in (*node.decorator_list, *node.args.defaults, *node.args.kw_defaults, *node.body):
            if part is not None:
                self.visit(part)
        self.phrases = outer

    def visit_Expr(self, node: ast.Expr) -> None:
        if not isinstance(node.value, ast.Constant):  # a docstring
            self.generic_visit(node)

    def visit_Call(self, node: ast.Call) -> None:
        called = _called(node)
        if called in _OUR_FAULT:
            return
        self.visit(node.func)
        if called not in _LOGGED:
            for value in node.args:
                if called == "counted" and isinstance(value, ast.Constant):
                    self._note(str(value.value), part=True)
                else:
                    self.visit(value)
        for word in node.keywords:
            if word.arg not in _NOT_TOLD:
                self.visit(word.value)

    def visit_AnnAssign(self, node: ast.AnnAssign) -> None:
        if not (isinstance(node.target, ast.Name) and node.target.id in _FOR_PROGRAMMERS):
            self.generic_visit(node)

    def visit_Subscript(self, node: ast.Subscript) -> None:
        if not (isinstance(node.value, ast.Name) and node.value.id in {"Annotated", "Literal"}):
            self.generic_visit(node)

    def visit_Constant(self, node: ast.Constant) -> None:
        if isinstance(node.value, str):
            self._note(node.value, part=self.words)

    def visit_JoinedStr(self, node: ast.JoinedStr) -> None:
        names: list[str] = []
        text = ""
        for part in node.values:
            if isinstance(part, ast.Constant):
                text += str(part.value)
            elif isinstance(part, ast.FormattedValue):
                self.within += 1
                self.visit(part.value)
                self.within -= 1
                if self._is_phrase(part.value):
                    text += _CUT
                else:
                    names.append(_free(_name(part.value), names))
                    text += f"{{{names[-1]}}}"
        pieces = text.split(_CUT)
        for piece in pieces:
            self._note(piece, part=len(pieces) > 1)

    def visit_IfExp(self, node: ast.IfExp) -> None:
        for choice in (node.body, node.orelse):
            if isinstance(choice, ast.Constant) and isinstance(choice.value, str) and self.within:
                self._note(choice.value, part=True)
            else:
                self.visit(choice)

    def _is_phrase(self, node: ast.expr) -> bool:
        if isinstance(node, ast.Call) and _called(node) == "counted":
            return any(map(_is_of_words, node.args))
        return (
            (isinstance(node, ast.Name) and node.id in self.phrases) or _is_of_words(node) or _has_words(node)
        )

    def _note(self, text: str, *, part: bool = False) -> None:
        text = text.strip()
        if (_PROSE.search(text) or (part and _WORD.search(text))) and not _NO_PROSE.search(text):
            self.found.append(text)


def _is_of_words(node: ast.expr) -> bool:
    """``words.noted``: a value of words, told by its name."""
    return isinstance(node, ast.Attribute) and isinstance(node.value, ast.Name) and node.value.id == "words"


def _called(node: ast.Call) -> str:
    return node.func.id if isinstance(node.func, ast.Name) else getattr(node.func, "attr", "")


def _phrases(function: ast.FunctionDef) -> frozenset[str]:
    """Local variables that words are assigned to."""
    found: set[str] = set()
    for node in ast.walk(function):
        if isinstance(node, ast.Assign) and _has_words(node.value):
            for target in node.targets:
                found.update(name.id for name in ast.walk(target) if isinstance(name, ast.Name))
        if isinstance(node, ast.For) and _has_words(node.iter):
            found.update(name.id for name in ast.walk(node.target) if isinstance(name, ast.Name))
    return frozenset(found)


def _has_words(node: ast.expr) -> bool:
    """Whether an expression holds a string that reads like a part of a sentence, rather than like a key or a unit."""
    return any(
        isinstance(part, ast.Constant)
        and isinstance(part.value, str)
        and part.value.strip() not in _JOINING
        and re.search(r"[A-Za-z]{2,}\s|\s[A-Za-z]{2,}", part.value)
        for part in ast.walk(node)
        if not isinstance(part, ast.JoinedStr) or part is node
    )


def _name(node: ast.expr) -> str:
    """What a value is called: by its variable, or by what a function is given."""
    match node:
        case ast.Name():
            name = node.id.strip("_")
        case ast.Attribute():
            name = node.attr
        case ast.Call(args=[first, *_]) if not isinstance(first, ast.GeneratorExp):
            name = _name(first)
        case ast.Call():
            name = _name(node.func)
        case ast.BinOp():
            name = _name(node.right if isinstance(node.left, ast.Constant) else node.left)
        case ast.UnaryOp() | ast.Subscript():
            name = _name(node.operand if isinstance(node, ast.UnaryOp) else node.value)
        case _:
            name = "words"
    return name


def _free(name: str, taken: list[str]) -> str:
    free, number = name, 2
    while free in taken:
        free, number = f"{name}{number}", number + 1
    return free
