"""CSS variables (``--name``, ``var()``) and ``currentColor`` within mixtures, put in plain words.

W3C, CSS Custom Properties for Cascading Variables Module Level 1, §§2-3.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from xml.etree.ElementTree import Element

from tinycss2 import parse_component_value_list
from tinycss2.ast import Node

from artwork.intake.svg_tree import local_name

_LONGEST = 500
"""Characters of a value: variables may name variables, but not unfold without end."""
_MOST = 64
"""Variables put in for one value."""
_DEEPEST = 16
_CURRENT = re.compile(r"(?<![\w-])currentcolor(?![\w-])", re.IGNORECASE)


def with_variables(own: Mapping[str, str], inherited: Mapping[str, str]) -> dict[str, str]:
    """An element's declarations with the variables put in; ``inherited`` holds those from above.

    A value whose variables lead nowhere and that says nothing else instead is left as it stands.
    """
    known = {name: value for name, value in inherited.items() if name.startswith("--")}
    known |= {name: value for name, value in own.items() if name.startswith("--")}
    return {**own, **{name: _resolved(value, known) for name, value in own.items() if has_variable(value)}}


def style_texts(root: Element) -> Iterator[str]:
    """Stylesheets and attributes, wherever values of style may stand; not the long data of paths."""
    for element in root.iter():
        if local_name(element.tag) == "style":
            yield element.text or ""
        yield from (text for name, text in element.attrib.items() if name not in ("d", "points"))


def has_variable(value: str) -> bool:
    """Whether a value names variables."""
    return "var(" in value.lower()


def has_mixed_current(value: str) -> bool:
    """Whether ``currentColor`` is a part of a colour, not all of it."""
    return "(" in value and _CURRENT.search(value) is not None


def with_current(value: str, colour: str) -> str:
    """A colour with ``currentColor`` in it put in."""
    return _CURRENT.sub(lambda _: colour, value)


def _resolved(value: str, known: Mapping[str, str]) -> str:
    try:
        return _Unfolding(known).text(parse_component_value_list(value[: _LONGEST + 1]), frozenset())
    except _UnresolvedError:
        return value


class _UnresolvedError(Exception):
    """A variable that leads nowhere, in a circle without a way out, or too far."""


class _Unfolding:
    """Puts in the variables of one value."""

    def __init__(self, known: Mapping[str, str]) -> None:
        self._known = known
        self._left = _MOST

    def text(self, tokens: list[Node], within: frozenset[str], depth: int = 0) -> str:
        """The tokens as text; ``within``: variables that are being unfolded."""
        if depth > _DEEPEST:
            raise _UnresolvedError
        parts = []
        for token in tokens:
            if token.type != "function":
                parts.append(token.serialize())
            elif token.lower_name == "var":
                parts.append(self._variable(token.arguments, within, depth + 1))
            else:
                parts.append(f"{token.name}({self.text(token.arguments, within, depth + 1)})")
        found = "".join(parts)
        if len(found) > _LONGEST:
            raise _UnresolvedError
        return found

    def _variable(self, arguments: list[Node], within: frozenset[str], depth: int) -> str:
        self._left -= 1
        commas = [at for at, token in enumerate(arguments) if token.type == "literal" and token.value == ","]
        end = commas[0] if commas else len(arguments)
        name = "".join(token.serialize() for token in arguments[:end]).strip()
        value = self._known.get(name)
        if self._left < 0 or not name.startswith("--"):
            raise _UnresolvedError
        if value is not None and name not in within:
            try:
                tokens = parse_component_value_list(value[: _LONGEST + 1])
                return self.text(tokens, within | {name}, depth).strip()
            except _UnresolvedError:
                if not commas:
                    raise
        if not commas:
            raise _UnresolvedError
        return self.text(arguments[end + 1 :], within, depth).strip()
