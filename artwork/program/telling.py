"""The outcome of a check, in a word and in a sentence."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

from artwork.drawings.frame import MachineFrame
from artwork.program.fields import DEPTH_SLACK, SIDE_SLACK, Difference
from artwork.program.seeking import SIZE_STEP, UNITS_EXCHANGED, Fit

Outcome = Literal["cuts-what-was-signed", "differs", "is-not-this-carving"]

RECOGNISED = 0.5
"""Overlap of carved areas from which a program is this carving gone wrong, rather than another one."""
BETTER = 0.02
"""By how much more a fit must overlap to be told as the cause."""
TOLD_SHIFT = 0.15
"""Least distance from its place that is told as the cause, mm."""
_KINDS = {
    "missing": "wood stays that should go",
    "extra": "wood goes that should stay",
    "shallow": "it is too shallow",
    "deep": "it is too deep",
}


@dataclass(frozen=True)
class Findings:
    """What a sentence is made of; see :class:`artwork.program.comparing.Comparison`."""

    outcome: Outcome
    differences: Sequence[Difference]
    overlap: float
    depth_median: float
    fit: Fit | None
    told: MachineFrame


def outcome_of(differences: Sequence[Difference], overlap: float, fit: Fit | None) -> Outcome:
    """The word: without a difference it is what was signed; nowhere near it, it is another carving."""
    if not differences:
        return "cuts-what-was-signed"
    return "differs" if overlap >= RECOGNISED or fit is not None else "is-not-this-carving"


def sentence(found: Findings) -> str:
    """The sentence, with the cause where one explains it, else with the largest place."""
    if found.outcome == "cuts-what-was-signed":
        return (
            f"This program cuts what was signed, to {SIDE_SLACK:g} mm beside and {DEPTH_SLACK:g} mm in depth."
        )
    if found.outcome == "is-not-this-carving":
        return "This program is not this carving."
    cause = _lie(found) or _depth(found) or _place(found)
    if one_sided(found):  # what lies beside its place misses wood on one side and takes it on the other
        cause = _depth(found) or cause
    return f"This program differs from what was signed: {cause}."


def one_sided(found: Findings) -> bool:
    """Whether it only leaves too much, or only takes too much."""
    kinds = {each.kind for each in found.differences}
    return kinds <= {"missing", "shallow"} or kinds <= {"extra", "deep"}


def _lie(found: Findings) -> str:
    fit = found.fit
    if fit is None:
        return ""
    if fit.overlap <= found.overlap + BETTER:
        return _beside(fit)
    if fit.frame.mirrored != found.told.mirrored:
        return "it is mirrored"
    if abs(fit.size - 1) >= SIZE_STEP:
        return size_words(fit.size)
    return _place_of_zero(fit, found.told)


def _place_of_zero(fit: Fit, told: MachineFrame) -> str:
    if fit.frame.quarter_turns != told.quarter_turns:
        return f"it matches if the slat lies {fit.frame.words}"
    if fit.named and fit.frame.zero != told.zero:
        return f"it matches if the zero is {fit.frame.words.partition('zero at ')[2]}"
    return _beside(fit)


def _beside(fit: Fit) -> str:
    x, y = fit.beside
    if max(abs(x), abs(y)) < TOLD_SHIFT:
        return ""
    return (
        f"it lies {x:+.1f} mm in x and {y:+.1f} mm in y from its place: its zero lies beside the job sheet's"
    )


def size_words(size: float) -> str:
    """What is wrong with a program whose lengths must be multiplied by ``size``."""
    if abs(size / 25.4 - 1) < UNITS_EXCHANGED:
        return "it is 25.4 times too small: inches and millimetres were exchanged"
    if abs(size * 25.4 - 1) < UNITS_EXCHANGED:
        return "it is 25.4 times too large: inches and millimetres were exchanged"
    return f"it is {abs(1 / size - 1) * 100:.1f} % too {'small' if size > 1 else 'large'}"


def _depth(found: Findings) -> str:
    median = found.depth_median
    if abs(median) < DEPTH_SLACK:
        return ""
    return f"half of it is {abs(median):.2f} mm too {'deep' if median > 0 else 'shallow'}, or more"


def _place(found: Findings) -> str:
    first = found.differences[0]
    return f"{_KINDS[first.kind]} at x {first.x:.1f}, y {first.y:.1f} mm, over {first.area:.1f} mm²"
