"""Words of RS274/NGC that are read here, those that are refused, and which of them go together (NISTIR 6556, 3.4)."""

from __future__ import annotations

from artwork.program.moves import ProgramError
from artwork.program.words import Line

GROUPS = {
    **dict.fromkeys((0, 10, 20, 30, 800, 810, 820, 830), 1),
    **dict.fromkeys((170, 180, 190), 2),
    **dict.fromkeys((900, 910), 3),
    **dict.fromkeys((901, 911), 4),
    **dict.fromkeys((930, 940), 5),
    **dict.fromkeys((200, 210), 6),
    **dict.fromkeys((400,), 7),
    **dict.fromkeys((430, 490), 8),
    **dict.fromkeys((980, 990), 10),
    **dict.fromkeys((540, 550, 560, 570, 580, 590, 591, 592, 593), 12),
    **dict.fromkeys((610, 611, 640), 13),
    **dict.fromkeys((40, 280, 300, 530), 0),
}
"""Modal group of each G word, times ten, that is understood here (3.4, table 4; 90.1 and 91.1 are common practice)."""
_REFUSED = {
    100: "it sets coordinates that are not known here",
    382: "probing depends on the wood",
    410: "the machine moves the path by the tool's radius",
    420: "the machine moves the path by the tool's radius",
    920: "it moves the zero to somewhere else",
    921: "it moves the zero to somewhere else",
    922: "it moves the zero to somewhere else",
    923: "it moves the zero to somewhere else",
    **dict.fromkeys((840, 850, 860, 870, 880, 890), "this cycle is not worked out here"),
}
_M_WORDS = frozenset({0, 1, 2, 3, 4, 5, 6, 7, 8, 9, 30, 48, 49, 60})
AXES = "xyz"
_OTHER_AXES = "abcuvw"


def check_codes(line: Line) -> None:
    """Hold a line's words against what is read here. ProgramError: which word, and why it cannot be checked."""
    seen: dict[int, int] = {}
    for g in line.g:
        if g in _REFUSED:
            raise ProgramError("not-checked", f"{_REFUSED[g]}.", line.number, name_of(g))
        group = GROUPS.get(g)
        if group is None:
            raise ProgramError(
                "not-understood", "there is no such G word, or none read here.", line.number, name_of(g)
            )
        if group in seen:
            said = f"{name_of(seen[group])} and {name_of(g)} contradict each other on one line."
            raise ProgramError("contradiction", said, line.number, name_of(g))
        seen[group] = g
    for letter in _OTHER_AXES:
        if letter in line.numbers:
            raise ProgramError(
                "axis",
                f"axis {letter.upper()} is not one of a three-axis router.",
                line.number,
                letter.upper(),
            )
    for m in line.m:
        if m not in _M_WORDS:
            raise ProgramError("not-understood", "there is no such M word.", line.number, f"M{m}")
    axes = any(letter in line.numbers for letter in AXES)
    if axes and 1 in seen and (280 in line.g or 300 in line.g):
        raise ProgramError("contradiction", "two words of this line claim its X, Y and Z.", line.number)


def name_of(g: int) -> str:
    """As people write it: ``G90.1`` for 901."""
    return f"G{g // 10}.{g % 10}" if g % 10 else f"G{g // 10}"
