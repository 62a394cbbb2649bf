"""One line of RS274/NGC taken apart into words (NISTIR 6556, 3.3)."""

from __future__ import annotations

import re
from dataclasses import dataclass

from artwork.program.moves import ProgramError

LONGEST_LINE = 256
"""Characters (3.3)."""
MOST_M_WORDS = 4
"""On one line (3.3.5)."""
_LARGEST_LINE_NUMBER_DIGITS = 5
_GIVEN_UP = {
    "#": ("parameters", "numbers that the machine holds are not known here"),
    "[": ("expressions", "arithmetic within a program is not worked out here"),
    "o": ("subprograms", "jumps and subprograms are not followed here"),
}
_LETTERS = frozenset("abcdfghijklmnpqrstuvwxyz")
"""U, V and W are no words of the report, but of controls with more axes; they are named when they are refused."""
_WORD = re.compile(r"([a-z])([+-]?(?:\d+\.?\d*|\.\d+))")
_BLANK = re.compile(r"[ \t]+")


@dataclass(frozen=True)
class Line:
    """One line's words.

    Attributes:
        number: of the line in the file, from 1.
        numbers: of every letter but G and M, as written once on the line.
        g: G words times ten, as whole numbers (90.1 → 901), in order.
        m: M words.
        deleted: whether it begins with a slash: a switch on the machine decides whether it counts.
    """

    number: int
    numbers: dict[str, float]
    g: tuple[int, ...]
    m: tuple[int, ...]
    deleted: bool


def without_comments(text: str, number: int) -> tuple[str, list[str]]:
    """The line without its comments and blanks, lower case; and the comments.

    Comments stand in round brackets and do not nest; what follows a semicolon is one too (common practice, no
    source: NISTIR 6556 has none).
    """
    comments = []
    if "(" in text or ")" in text:
        parts, rest = [], text
        while "(" in rest:
            before, _, rest = rest.partition("(")
            inside, closed, rest = rest.partition(")")
            if not closed or "(" in inside or ")" in before:
                raise ProgramError("comment", "a comment is not closed, or lies within another.", number, "(")
            parts.append(before)
            comments.append(inside.strip())
        if ")" in rest.partition(";")[0]:
            raise ProgramError("comment", "a comment is closed that was never opened.", number, ")")
        text = "".join(parts) + rest
    text, semicolon, after = text.partition(";")
    if semicolon:
        comments.append(after.strip())
    return _BLANK.sub("", text).lower(), comments


def words(text: str, number: int) -> Line:
    """Take a line without comments and blanks apart.

    Args:
        text: as :func:`without_comments` gives it.
        number: of the line in the file.

    Raises:
        ProgramError: anything that the language does not have, or that is not read here.
    """
    deleted = text.startswith("/")
    if deleted:
        text = text[1:]
    at, numbers, g, m = 0, {}, [], []
    while at < len(text):
        found = _WORD.match(text, at)
        if found is None or found[1] not in _LETTERS:
            raise _not_understood(text[at:], number)
        letter, digits = found[1], found[2]
        at = found.end()
        if letter == "g":
            g.append(_tenths(digits, number))
        elif letter == "m":
            m.append(_whole(digits, number))
        elif letter in numbers:
            raise ProgramError(
                "twice", f"{letter.upper()} stands twice on one line.", number, found[0].upper()
            )
        elif letter == "n":
            if len(digits) > _LARGEST_LINE_NUMBER_DIGITS or not digits.isdigit():
                raise ProgramError(
                    "line-number", "a line number has at most five digits.", number, found[0].upper()
                )
            numbers["n"] = float(digits)
        else:
            numbers[letter] = float(digits)
    numbers.pop("n", None)
    if len(m) > MOST_M_WORDS:
        raise ProgramError("too-many-m", "more than four M words stand on one line.", number)
    return Line(number, numbers, tuple(g), tuple(m), deleted)


def _not_understood(rest: str, number: int) -> ProgramError:
    for sign, (what, why) in _GIVEN_UP.items():
        if rest.startswith(sign) or rest[1:2] == sign:
            return ProgramError(what, f"{why}.", number, rest[:12].upper())
    return ProgramError("not-understood", "this is not a word of the language.", number, rest[:12].upper())


def _tenths(digits: str, number: int) -> int:
    value = float(digits) * 10
    if abs(value - round(value)) > 1e-3:  # 3.3.2.1: within 0.0001 of a whole number, times ten
        raise ProgramError("not-understood", "there is no such G word.", number, f"G{digits}")
    return round(value)


def _whole(digits: str, number: int) -> int:
    value = float(digits)
    if abs(value - round(value)) > 1e-4:
        raise ProgramError("not-understood", "there is no such M word.", number, f"M{digits}")
    return round(value)
