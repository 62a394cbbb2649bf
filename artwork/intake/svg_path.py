"""The SVG path grammar (SVG 1.1 §8.3): ``d`` attributes → paths."""

from __future__ import annotations

import re
from collections.abc import Callable

from artwork.intake.paths import Builder, Path

_COMMAND = re.compile(r"([MmZzLlHhVvCcSsQqTtAa])")
# As long as can be: no digit is given back. Not (…)?+ at its end: Python 3.11.2, Debian 12's, keeps the "e" of "1em"
# there (CPython gh-101955).
_NUMBER_TEXT = r"[+-]?(?:\d++\.?+\d*+|\.\d++)(?:[eE][+-]?\d++|(?![eE][+-]?\d))"
NUMBER = re.compile(_NUMBER_TEXT)
_GAP = r"[\s,]*"
_ONE = re.compile(f"{_GAP}({_NUMBER_TEXT})")
_ARC = re.compile(
    _GAP + _GAP.join([f"({_NUMBER_TEXT})"] * 3 + ["([01])"] * 2 + [f"({_NUMBER_TEXT})"] * 2)
)  # the two flags may stand without a gap after them
_GAPS = dict.fromkeys(map(ord, " \t\r\n\f,"))


class _Reader:
    """Runs commands one after another, keeping what S and T need to know of the one before."""

    def __init__(self) -> None:
        self.builder = Builder()
        self.control: tuple[float, float] | None = None
        self.last = ""

    def run(self, command: str, numbers: list[float]) -> None:
        letter, relative = command.upper(), command.islower()
        take, action = _ACTIONS[letter]
        for at in range(0, len(numbers), take):
            x, y = (self.builder.x, self.builder.y) if relative else (0.0, 0.0)
            action(self, x, y, numbers[at : at + take])
            self.last = letter
            if letter == "M":  # further pairs after a move are lines
                letter, action = "L", _Reader.line

    def move(self, x: float, y: float, n: list[float]) -> None:
        self.builder.move(x + n[0], y + n[1])

    def line(self, x: float, y: float, n: list[float]) -> None:
        self.builder.line(x + n[0], y + n[1])

    def across(self, x: float, _y: float, n: list[float]) -> None:
        self.builder.line(x + n[0], self.builder.y)

    def down(self, _x: float, y: float, n: list[float]) -> None:
        self.builder.line(self.builder.x, y + n[0])

    def cubic(self, x: float, y: float, n: list[float]) -> None:
        self.control = (x + n[2], y + n[3])
        self.builder.cubic(x + n[0], y + n[1], *self.control, x + n[4], y + n[5])

    def smooth(self, x: float, y: float, n: list[float]) -> None:
        first = self._reflected("CS")
        self.control = (x + n[0], y + n[1])
        self.builder.cubic(*first, *self.control, x + n[2], y + n[3])

    def quadratic(self, x: float, y: float, n: list[float]) -> None:
        self.control = (x + n[0], y + n[1])
        self.builder.quadratic(*self.control, x + n[2], y + n[3])

    def smooth_quadratic(self, x: float, y: float, n: list[float]) -> None:
        self.control = self._reflected("QT")
        self.builder.quadratic(*self.control, x + n[0], y + n[1])

    def arc(self, x: float, y: float, n: list[float]) -> None:
        self.builder.arc(n[0], n[1], n[2], n[3] > 0, n[4] > 0, x + n[5], y + n[6])

    def _reflected(self, after: str) -> tuple[float, float]:
        at = (self.builder.x, self.builder.y)
        if self.control is None or self.last not in after:
            return at
        return 2 * at[0] - self.control[0], 2 * at[1] - self.control[1]


_ACTIONS: dict[str, tuple[int, Callable[[_Reader, float, float, list[float]], None]]] = {
    "M": (2, _Reader.move),
    "L": (2, _Reader.line),
    "H": (1, _Reader.across),
    "V": (1, _Reader.down),
    "C": (6, _Reader.cubic),
    "S": (4, _Reader.smooth),
    "Q": (4, _Reader.quadratic),
    "T": (2, _Reader.smooth_quadratic),
    "A": (7, _Reader.arc),
}


def parse_path(text: str) -> tuple[Path, bool]:
    """The path, up to the first thing in it that is not a path, and whether all of it was one.

    SVG 1.1 §F.2: what stands before an error is drawn.
    """
    parts = _COMMAND.split(text)
    whole = not parts[0].strip(" \t\r\n,")
    reader = _Reader()
    for command, arguments in zip(parts[1::2], parts[2::2], strict=True):
        if not reader.last and command not in "Mm":
            return reader.builder.path(), False
        if command in "Zz":
            reader.builder.close()
            reader.last = "Z"
            whole = whole and not arguments.strip(" \t\r\n,")
            continue
        numbers, sound = _numbers(command, arguments)
        reader.run(command, numbers)
        whole = whole and sound
        if not sound:
            break
    return reader.builder.path(), whole


def _numbers(command: str, text: str) -> tuple[list[float], bool]:
    """The arguments, complete sets only, up to the first thing that is none; and whether nothing else was there."""
    if command in "Aa":
        arcs, whole = _scanned(_ARC, text)
        return arcs, whole and bool(arcs)
    numbers = list(map(float, found := NUMBER.findall(text)))
    whole = len(text.translate(_GAPS)) == sum(map(len, found))
    if not whole:
        numbers, _ = _scanned(_ONE, text)
    take = _ACTIONS[command.upper()][0]
    complete = len(numbers) - len(numbers) % take
    return numbers[:complete], whole and complete == len(numbers) > 0


def _scanned(pattern: re.Pattern[str], text: str) -> tuple[list[float], bool]:
    """The numbers of all matches that follow each other from the start, and whether nothing but gaps is left."""
    found: list[float] = []
    at = 0
    while match := pattern.match(text, at):
        found += map(float, match.groups())
        at = match.end()
    return found, not text[at:].translate(_GAPS)
