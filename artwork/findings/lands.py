"""Lands: does the wood between grooves stand while it is carved on the highest board?"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from functools import cached_property
from itertools import chain
from math import inf

import numpy as np

from artwork import tooling
from artwork.curves import Floats
from artwork.findings.flecks import are_flecks
from artwork.findings.forgiving import NECK_SHARE, ROUNDING, is_neck, is_small_miss, is_stub, point_of
from artwork.findings.lines import MOST_PLACES, judged_stretches, larger_by, small_misses
from artwork.findings.points import SHARP_WOOD, point_findings
from artwork.findings.runs import Bools, Ints, Run, Strip, grouped, on_slat, thin_runs
from artwork.findings.standing import Body, island_needs, land_strip
from artwork.findings.touching import is_contact, is_seam
from artwork.findings.values import Finding, Severity
from artwork.findings.wording import at_least, at_most, counted, down, up
from artwork.scene import Scene


@dataclass(frozen=True, eq=False)
class Lands:
    """What the lands are like.

    Attributes:
        least, required: width of the land with the least to spare and what it needs, mm; infinite and the
            smallest requirement where the art leaves no land.
        broken: numbers of the enclosed pieces of land that break out.
        flecks: numbers of such pieces that nobody will miss.
        fleck: width of the narrowest of these, mm; infinite without any.
        touching: where two shapes all but meet and are carved as one.
        strip, needs: the axis as it was judged, and what each piece of land needs at its widest, mm.
        runs, stops: all thin runs, and those that stop.
        lost: numbers of the pieces that stop as a whole.
        tell: makes the findings.
    """

    least: float
    required: float
    broken: Ints
    flecks: Ints
    fleck: float
    touching: list[Run]
    strip: Strip
    needs: Floats
    runs: list[Run]
    stops: list[Run]
    lost: Ints
    tell: Callable[[], list[Finding]]

    @cached_property
    def findings(self) -> tuple[Finding, ...]:
        """Thin and sharp lands, counters that break out, what is only nearly enough; in words only where asked."""
        return tuple(self.tell())


def judge_lands(scene: Scene) -> Lands:
    """Judges every stretch of the uncarved axis, and every counter as a whole."""
    body = Body(scene)
    strip = land_strip(body)
    islands = island_needs(body, strip)
    broken = _broken(scene, islands)
    strip = replace(strip, sound=_standing(scene, strip, broken))
    runs = thin_runs(strip, scene.scale, scene.slack)
    told = [run for run in runs if not run.slight and strip.region[run.stretch] not in broken]
    fleck = are_flecks(scene, scene.anatomy.land_span[broken], islands[broken])
    flecks, broken = broken[fleck], broken[~fleck]
    nearly = np.array([_is_nearly_whole(scene, islands, number) for number in broken], bool)
    ends = [run for run in told if run.tapering or is_stub(run, scene.scale, body.across)]
    walls = [run for run in told if run not in ends]
    touching = [run for run in walls if is_contact(scene, strip, run) or is_seam(scene, strip, run)]
    thin = _Thin.of(scene, strip, [run for run in walls if run not in touching])
    tapers = scene.anatomy.lands.tapers
    points = [point_of(scene, strip, tapers, run, body.across) for run in ends]
    least, need = _tightest(scene, strip, islands, judged_stretches(strip, runs, flecks, touching), flecks)
    stopping = [point for point in points if point.stops]
    noted = [point for point in points if point.told and not point.stops]

    def tell() -> list[Finding]:
        return [
            *_thin_findings(scene, strip, thin.stop),
            *point_findings(scene, stopping, SHARP_WOOD, "stops"),
            *_counter_findings(scene, broken[~nearly], islands, "stops"),
            *_counter_findings(scene, broken[nearly], islands, "warns"),
            *_nearly_findings(scene, strip, thin.small),
            *_neck_findings(scene, strip, thin.necks),
            *point_findings(scene, noted, SHARP_WOOD, "warns"),
        ]

    narrowest = float((scene.anatomy.lands.peak[flecks] - scene.slack).min(initial=inf))
    return Lands(
        least=least,
        required=need,
        broken=broken,
        flecks=flecks,
        fleck=max(2 * scene.scale * narrowest, 0.0),
        touching=touching,
        strip=strip,
        needs=islands,
        runs=runs,
        stops=[*thin.stop, *(point.run for point in stopping)],
        lost=broken[~nearly],
        tell=tell,
    )


@dataclass(frozen=True, eq=False)
class _Thin:
    """Thin places, by what becomes of them."""

    stop: list[Run]
    necks: list[Run]
    small: list[Run]

    @classmethod
    def of(cls, scene: Scene, strip: Strip, runs: list[Run]) -> _Thin:
        found, small = cls([], [], []), []
        taken = tooling.land_loss(scene.cut.bit, scene.cut.allowances)
        for run in runs:
            width, required = _width(scene, run), float(strip.required[run.stretch])
            if is_small_miss(scene, width, required, (run.length + run.way) * scene.scale):
                small.append(run)
            elif is_neck(width, required, taken, run, scene.scale):
                found.necks.append(run)
            else:
                found.stop.append(run)
        forgiven = small_misses([*found.stop, *small], small)
        found.small.extend(forgiven)
        found.stop.extend(run for run in small if run not in forgiven)
        return found


def _width(scene: Scene, run: Run) -> float:
    """At its thinnest, on the safe side, mm."""
    return max(2 * scene.scale * (run.clearance - scene.slack), 0.0)


def _broken(scene: Scene, islands: Floats) -> Ints:
    width = 2 * scene.scale * (scene.anatomy.lands.peak - scene.slack)
    return np.flatnonzero(width < islands)


def _standing(scene: Scene, strip: Strip, broken: Ints) -> Ints:
    """The vertices where enclosed pieces that stand are widest: the body of wood fits there or beside."""
    peak = np.where(
        np.isin(np.arange(len(scene.anatomy.lands.peak)), broken), np.inf, scene.anatomy.lands.peak
    )
    return np.unique(strip.ends[strip.clearance >= peak[strip.region, None] * (1 - ROUNDING)])


def _is_nearly_whole(scene: Scene, islands: Floats, number: int) -> bool:
    """Whether an island is so little short that it may be the drawing's error."""
    width = 2 * scene.scale * float(scene.anatomy.lands.peak[number] - scene.slack)
    return is_small_miss(scene, width, float(islands[number]), 0.0)


def _tightest(
    scene: Scene, strip: Strip, islands: Floats, stroke: Bools, flecks: Ints
) -> tuple[float, float]:
    """Width and requirement of the land with the least to spare."""
    axis = scene.anatomy.lands
    inner = np.delete(np.arange(len(axis.peak)), [*flecks, scene.anatomy.outer_land])
    width = 2 * scene.scale * (np.concatenate([axis.peak[inner], strip.least[stroke]]) - scene.slack)
    need = np.concatenate([islands[inner], strip.required[stroke]])
    if not len(width):
        return inf, up(tooling.least_land(scene.cut.allowances, 0.0))
    worst = int(np.lexsort((width, width - need))[0])
    return max(float(width[worst]), 0.0), float(need[worst])


def _thin_findings(scene: Scene, strip: Strip, runs: list[Run]) -> list[Finding]:
    groups = grouped(runs)
    shown, rest = groups[:MOST_PLACES], list(chain.from_iterable(groups[MOST_PLACES:]))
    return [_thin_finding(scene, strip, group) for group in (*shown, rest) if group]


def _thin_finding(scene: Scene, strip: Strip, runs: list[Run]) -> Finding:
    run = runs[0]
    width = _width(scene, run)
    required = float(strip.required[run.stretch])
    length = up(sum(each.length for each in runs) * scene.scale)
    worst = down(max(width - tooling.land_loss(scene.cut.bit, scene.cut.allowances), 0.0))
    what = f"The wood between two grooves is {at_least(width)} wide, thin over {at_most(length)},"
    if len({run.group for run in runs}) > 1:
        what = (
            f"More wood between grooves, {at_least(width)} at its thinnest, over {at_most(length)} together,"
        )
    return Finding(
        kind="land",
        severity="stops",
        place=on_slat(scene, runs),
        measured=down(width),
        required=required,
        nominal=down(width),
        worst=worst,
        message=f"{what} and needs {at_most(required)} in this direction to the grain. "
        f"On a high board it shrinks to {at_least(worst)} while it is carved, and may break out.",
        cure="Make the art larger, thin its lines, or turn it so that the land runs with the grain.",
        count=len(runs),
        length=length,
    )


def _nearly_findings(scene: Scene, strip: Strip, runs: list[Run]) -> list[Finding]:
    """Lands that are short by a hair over a short way, in one finding."""
    if not runs:
        return []
    worst = min(runs, key=lambda run: _width(scene, run) / strip.required[run.stretch])
    width, required = _width(scene, worst), float(strip.required[worst.stretch])
    length = up(max(run.told * scene.scale for run in runs))
    places = counted(len(runs), "place", "places")
    return [
        Finding(
            kind="land",
            severity="warns",
            place=on_slat(scene, runs),
            measured=down(width),
            required=required,
            nominal=down(width),
            worst=down(max(width - tooling.land_loss(scene.cut.bit, scene.cut.allowances), 0.0)),
            message=f"At {places} the wood between two grooves is a hair short: {at_least(width)} over "
            f"{at_most(length)} where {at_most(required)} are wanted.",
            cure=larger_by(width, required),
            count=len(runs),
            length=length,
        )
    ]


def _neck_findings(scene: Scene, strip: Strip, runs: list[Run]) -> list[Finding]:
    """Necks no longer than they are wide, in one finding."""
    if not runs:
        return []
    worst = min(runs, key=lambda run: _width(scene, run) / strip.required[run.stretch])
    width, required = _width(scene, worst), float(strip.required[worst.stretch])
    taken = tooling.land_loss(scene.cut.bit, scene.cut.allowances)
    length = up(max(run.told * scene.scale for run in runs))
    many = counted(len(runs), "short neck", "short necks")
    return [
        Finding(
            kind="land",
            severity="warns",
            place=on_slat(scene, runs),
            measured=down(width),
            required=up(NECK_SHARE * required),
            nominal=down(width),
            worst=down(max(width - taken, 0.0)),
            message=f"{many} of wood between grooves, {at_least(width)} at the thinnest, thin over at most "
            f"{at_most(length)}: no longer than wide, so {at_most(NECK_SHARE * required)} stand; a wall "
            f"would need {at_most(required)}.",
            cure=larger_by(width, required),
            count=len(runs),
            length=length,
        )
    ]


def _counter_findings(scene: Scene, broken: Ints, islands: Floats, severity: Severity) -> list[Finding]:
    if not len(broken):
        return []
    widths = 2 * scene.scale * (scene.anatomy.lands.peak[broken] - scene.slack)
    least = int(np.argmin(widths - islands[broken]))
    width, required = max(float(widths[least]), 0.0), float(islands[broken][least])
    loss = tooling.land_loss(scene.cut.bit, scene.cut.allowances)
    many = counted(len(broken), "enclosed piece of wood", "enclosed pieces of wood")
    stops = severity == "stops"
    happens = "will break out" if stops else "may chip"
    return [
        Finding(
            kind="counter",
            severity=severity,
            place=scene.lands(broken),
            measured=down(width),
            required=required,
            nominal=down(width),
            worst=down(max(width - loss, 0.0)),
            message=f"{many} inside the art (as inside an 'o') {happens}: "
            f"{at_least(width)} at its widest, needs {at_most(required)}.",
            cure="Make the art larger, thin its lines, or let these places be carved as well."
            if stops
            else larger_by(width, required),
            count=len(broken),
        )
    ]
