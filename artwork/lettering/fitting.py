"""Rules of fit: what may be done to a text, in which order, so that it fits its place on the slat."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from math import cos, isfinite, radians, sin

from artwork.cut import Placement
from artwork.errors import EngineError
from artwork.lettering.field import Field
from artwork.lettering.setting import BASELINES, Setting, halves, set_lines
from artwork.lettering.typefaces import Typeface, typeface
from artwork.outline import Outline
from artwork.remark import FileWarning

_SPARE = 1e-6
"""Share by which a fitted text stays under its limit, so that rounding never puts it over."""


@dataclass(frozen=True)
class FitRule:
    """How text is set on a slat, and what may give way when it is too long.

    First the letter spacing gives way, then the line is broken in two, then the letters get smaller; each
    only as far as the rule allows.

    Attributes:
        typeface: key of the typeface.
        cap_height: of the capitals as wanted, mm.
        least_cap_height: the smallest they may become, mm.
        tracking: letter spacing as wanted, ems.
        least_tracking: the tightest it may become, ems.
        lines: 1, or 2 where a text may be broken at a space.
        baselines: distance of two baselines, cap heights.
        arc_radius: of the baseline, mm: above 0 arched upwards, below 0 downwards, ``None`` straight.
    """

    typeface: str
    cap_height: float = 25.0
    least_cap_height: float = 15.0
    tracking: float = 0.0
    least_tracking: float = 0.0
    lines: int = 1
    baselines: float = BASELINES
    arc_radius: float | None = None

    def __post_init__(self) -> None:
        figures = [self.cap_height, self.least_cap_height, self.tracking, self.least_tracking, self.baselines]
        figures.append(self.arc_radius or 0.0)
        good = (
            all(isfinite(figure) for figure in figures)
            and 0 < self.least_cap_height <= self.cap_height
            and -0.2 <= self.least_tracking <= self.tracking <= 1.0
            and self.lines in (1, 2)
            and 1.0 <= self.baselines <= 3.0
            and self.arc_radius != 0
        )
        if not good:
            raise EngineError(
                "fit-rule",
                "These figures make no rule of fit.",
                "Give a least cap height above 0 and at most the wanted one, letter spacing from "
                "−0.2 to 1 em, one or two lines, baselines 1 to 3 cap heights apart, and an arc "
                "radius other than 0.",
            )


@dataclass(frozen=True, eq=False)
class Lettered:
    """A text fitted to its place.

    Attributes:
        lines: the text as set.
        outline: the letters, font units.
        placement: where they lie on the slat.
        cap_height: of the capitals, mm.
        tracking: letter spacing, ems.
        remarks: what the rule did to it.
    """

    lines: tuple[str, ...]
    outline: Outline
    placement: Placement
    cap_height: float
    tracking: float
    remarks: tuple[FileWarning, ...]


@dataclass(frozen=True, eq=False)
class _Trial:
    lines: tuple[str, ...]
    tracking: float
    cap_height: float
    setting: Setting


def fit(text: str, rule: FitRule, field: Field) -> Lettered:
    """The text as the rule allows it, in the middle of its field.

    Args:
        text: with line breaks only where a new line is meant.
        rule: what may give way.
        field: where it goes.

    Raises:
        EngineError: ``empty-text``, ``missing-glyph``, ``too-many-lines``, ``text-too-long`` (with the size it
            would need), ``unknown-typeface``, ``arc-too-tight``.
    """
    face = typeface(rule.typeface)
    lines = tuple(" ".join(line.split()) for line in text.splitlines() if line.strip())
    if not lines:
        raise EngineError(
            "empty-text", "There is nothing to carve in this text.", "Write at least one letter."
        )
    if len(lines) > rule.lines:
        raise EngineError(
            "too-many-lines",
            f"The text has {len(lines)} lines; this rule allows {rule.lines}.",
            "Write it in fewer lines or allow more.",
        )
    tried = []
    for trial in _trials(lines, rule, face, field):
        size = _fitting_cap_height(trial, face, field)
        if size >= trial.cap_height:
            return _lettered(trial, rule, face, field, len(lines))
        tried.append(replace(trial, cap_height=size))
    best = max(tried, key=lambda trial: trial.cap_height)
    return _lettered(_smaller(best, rule, face, field), rule, face, field, len(lines))


def _trials(lines: tuple[str, ...], rule: FitRule, face: Typeface, field: Field) -> Iterator[_Trial]:
    """Settings at the wanted size, in the order in which things give way."""
    layouts = [lines]
    if rule.lines == 2 and len(lines) == 1 and (broken := halves(lines[0])):
        layouts.append(broken)
    for layout in layouts:
        wide = _set(layout, rule.tracking, rule.cap_height, rule, face)
        yield wide
        if rule.least_tracking < rule.tracking:
            yield _set(layout, _tighter(wide, rule, face, field), rule.cap_height, rule, face)


def _set(lines: tuple[str, ...], tracking: float, cap_height: float, rule: FitRule, face: Typeface) -> _Trial:
    radius = None if rule.arc_radius is None else rule.arc_radius * face.cap_height / cap_height
    setting = set_lines(lines, face, tracking=tracking, baselines=rule.baselines, radius=radius)
    return _Trial(lines, tracking, cap_height, setting)


def _tighter(trial: _Trial, rule: FitRule, face: Typeface, field: Field) -> float:
    """The widest letter spacing at which the line should fit, to 0.001 em, not below the rule's least."""
    excess = trial.setting.reach[0] - field.width * face.cap_height / trial.cap_height
    gaps = max(max(trial.setting.letters) - 1, 1)
    wanted = rule.tracking - excess / (gaps * face.em)
    return max(rule.least_tracking, int((wanted - 1e-3) * 1000) / 1000)


def _fitting_cap_height(trial: _Trial, face: Typeface, field: Field) -> float:
    """The largest cap height at which this setting lies within the field."""
    width, height = trial.setting.reach
    return min(field.width / width, field.height / height) * face.cap_height * (1 - _SPARE)


def _smaller(trial: _Trial, rule: FitRule, face: Typeface, field: Field) -> _Trial:
    """The trial at the size that fits, or the refusal; on an arc the letters are bent anew for that size."""
    size = trial.cap_height
    if rule.arc_radius is not None:
        for _ in range(4):  # less bent when smaller: settles at once
            trial = _set(trial.lines, trial.tracking, size, rule, face)
            size = min(size, _fitting_cap_height(trial, face, field))
    if size < rule.least_cap_height:
        shown = " / ".join(trial.lines)
        raise EngineError(
            "text-too-long",
            f"“{shown if len(shown) <= 40 else shown[:40] + '…'}” would need capitals of "
            f"{int(size * 10) / 10:g} mm to fit; this rule allows no less than {rule.least_cap_height:g} mm.",
            "Shorten it, or choose a narrower typeface, a wider slat, or smaller letters.",
        )
    return replace(trial, cap_height=size)


def _lettered(trial: _Trial, rule: FitRule, face: Typeface, field: Field, typed: int) -> Lettered:
    scale = trial.cap_height / face.cap_height
    left, low, right, high = trial.setting.outline.bounds
    across = ((left + right) / 2 - trial.setting.middle[0]) * scale
    upwards = ((low + high) / 2 - trial.setting.middle[1]) * scale
    turn = radians(field.turn_deg)
    placement = Placement(
        field.x + across * cos(turn) - upwards * sin(turn),
        field.y + across * sin(turn) + upwards * cos(turn),
        scale,
        field.turn_deg,
    )
    return Lettered(
        trial.lines,
        trial.setting.outline,
        placement,
        trial.cap_height,
        trial.tracking,
        tuple(_remarks(trial, rule, typed)),
    )


def _remarks(trial: _Trial, rule: FitRule, typed: int) -> Iterator[FileWarning]:
    if trial.tracking < rule.tracking:
        yield FileWarning(
            "tighter-spacing",
            f"Letter spacing was reduced from {rule.tracking:g} to {trial.tracking:g} em so that it fits.",
        )
    if len(trial.lines) > typed:
        yield FileWarning("two-lines", f"Set in two lines: “{trial.lines[0]}” and “{trial.lines[1]}”.")
    if trial.cap_height < rule.cap_height:
        yield FileWarning(
            "smaller-letters",
            f"Capitals are {int(trial.cap_height * 10) / 10:g} mm high instead of {rule.cap_height:g} "
            "so that it fits.",
        )
