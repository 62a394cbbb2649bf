"""Drill cycles (G81, G82, G83) of RS274/NGC (NISTIR 6556, 3.5.16): how often, from where, how deep at a time."""

from __future__ import annotations

from collections.abc import Iterator

from artwork.program.moves import ProgramError
from artwork.program.state import State
from artwork.program.words import Line

MOST_REPEATS = 10_000


def begin(state: State, line: Line) -> int:
    """Take in what a line says of the cycle; how often it is done. ProgramError."""
    state.cycle |= {letter: line.numbers[letter] for letter in "zrqp" if letter in line.numbers}
    repeats = line.numbers.get("l", 1.0)
    if repeats != round(repeats) or not 1 <= repeats <= MOST_REPEATS:
        raise ProgramError("cycle", "L must be a whole number above 0.", line.number, "L")
    if "z" not in state.cycle or "r" not in state.cycle:
        raise ProgramError("cycle", "a drill cycle needs Z and R.", line.number)
    return round(repeats)


def heights(state: State, shift: float, line: int) -> tuple[float, float]:
    """Where it goes on at feed, and how deep, mm; ``shift`` is the height of the work offset. ProgramError."""
    base = shift if state.absolute else state.at[2]
    clear = state.cycle["r"] * state.unit + base
    # in incremental mode Z counts from R, not from where the bit was
    low = state.cycle["z"] * state.unit + (base if state.absolute else clear)
    if clear < low:
        raise ProgramError("cycle", "R lies below Z.", line, "R")
    return clear, low


def pecks(state: State, clear: float, low: float, line: int) -> Iterator[float]:
    """The depths of one hole, the last one its bottom. ProgramError."""
    step = state.cycle.get("q", 0.0) * state.unit
    if state.motion == 830:
        if step <= 0:
            raise ProgramError("cycle", "G83 needs Q, above 0.", line, "Q")
        depth = clear - step
        while depth > low:
            yield depth
            depth -= step
    yield low
