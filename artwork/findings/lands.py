"""Lands: does the wood between grooves stand while it is carved on the highest board?"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import chain
from math import inf

import numpy as np

from artwork import tooling
from artwork.axis.anatomy import Axis
from artwork.curves import Floats
from artwork.findings.flecks import are_flecks
from artwork.findings.lines import MOST_PLACES, judged_stretches, on_slat
from artwork.findings.runs import Bools, Ints, Run, Strip, grouped, strip_of, thin_runs
from artwork.findings.values import Finding
from artwork.findings.wording import at_least, at_most, counted, down, up
from artwork.scene import Scene


@dataclass(frozen=True, eq=False)
class Lands:
    """What the lands are like.

    Attributes:
        findings: thin lands, sharp lands that crumble, counters that break out.
        least, required: width of the land with the least to spare and what it needs, mm; infinite and the
            smallest requirement where the art leaves no land.
        broken: numbers of the enclosed pieces of land that break out.
        flecks: numbers of such pieces that nobody will miss.
        nicks: runs that are slight only because so much is required.
    """

    findings: tuple[Finding, ...]
    least: float
    required: float
    broken: Ints
    flecks: Ints
    nicks: list[Run]


def judge_lands(scene: Scene) -> Lands:
    """Judges every stretch of the uncarved axis, and every counter as a whole."""
    axis = scene.anatomy.lands
    required = land_requirements(scene, axis)
    strip = strip_of(axis, required, np.zeros(len(required)))
    counters = counter_requirements(scene, axis, required)
    broken = _broken(scene, counters)
    runs = thin_runs(strip, scene.scale, scene.slack)
    told = [run for run in runs if not run.slight and strip.region[run.stretch] not in broken]
    fleck = are_flecks(scene, scene.anatomy.land_span[broken], counters[broken])
    flecks, broken = broken[fleck], broken[~fleck]
    nicks = [run for run in runs if run.nick and strip.region[run.stretch] not in (*broken, *flecks)]
    thin = [run for run in told if not run.tapering]
    sharp = [run for run in told if run.tapering]
    least, need = _tightest(scene, strip, counters, judged_stretches(strip, runs, flecks), flecks)
    found = [
        *_thin_findings(scene, strip, thin),
        *_sharp_findings(scene, strip, sharp),
        *_counter_findings(scene, broken, counters),
    ]
    return Lands(tuple(found), least, need, broken, flecks, nicks)


def land_requirements(scene: Scene, axis: Axis) -> Floats:
    """Drawn width each stretch of land needs, mm: by its direction to the grain, with what carving takes."""
    grain = np.radians(scene.cut.slat.grain_deg)
    across = most_across(_headings(scene, axis), grain)
    allowances = scene.cut.allowances
    needed = tooling.least_land(allowances, across) + tooling.land_loss(scene.cut.bit, allowances)
    return np.asarray(np.ceil(needed * 100 - 1e-6) / 100)


def _headings(scene: Scene, axis: Axis) -> Floats:
    """Directions of the axis on the slat, shape (n, 2), radians."""
    turned = -axis.headings + np.pi if scene.cut.placement.mirrored else axis.headings
    return np.asarray(turned + np.radians(scene.cut.placement.rotation_deg))


def most_across(headings: Floats, grain: float) -> Floats:
    """sin² of the angle to the grain, the largest that a stretch reaches between its two ends."""
    off = headings - grain
    sine, cosine = np.sin(off), np.cos(off)
    flips = np.sign(cosine[:, 0]) != np.sign(cosine[:, 1])
    passes = flips & (np.abs(np.sin(off[:, 1] - off[:, 0])) > 1e-9)
    return np.asarray(np.where(passes, 1.0, (sine**2).max(axis=1)))


def counter_requirements(scene: Scene, axis: Axis, required: Floats) -> Floats:
    """What each land needs at its widest place, mm; nothing for the wood that surrounds the art.

    The most that any of its stretches needs; a counter without any, round or square, is short in the grain
    however it lies.
    """
    allowances = scene.cut.allowances
    across = tooling.least_land(allowances, 1.0) + tooling.land_loss(scene.cut.bit, allowances)
    needed = np.zeros(len(axis.peak))
    np.maximum.at(needed, axis.region, required)
    needed[needed == 0] = up(max(across, allowances.land_along))
    needed[scene.anatomy.outer_land] = 0.0
    return needed


def _broken(scene: Scene, counters: Floats) -> Ints:
    width = 2 * scene.scale * (scene.anatomy.lands.peak - scene.slack)
    return np.flatnonzero(width < counters)


def _tightest(
    scene: Scene, strip: Strip, counters: Floats, stroke: Bools, flecks: Ints
) -> tuple[float, float]:
    """Width and requirement of the land with the least to spare."""
    axis = scene.anatomy.lands
    inner = np.delete(np.arange(len(axis.peak)), [*flecks, scene.anatomy.outer_land])
    width = 2 * scene.scale * (np.concatenate([axis.peak[inner], strip.least[stroke]]) - scene.slack)
    need = np.concatenate([counters[inner], strip.required[stroke]])
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
    width = max(2 * scene.scale * (run.clearance - scene.slack), 0.0)
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


def _sharp_findings(scene: Scene, strip: Strip, runs: list[Run]) -> list[Finding]:
    if not runs:
        return []
    longest = max(runs, key=lambda run: run.length)
    lost = up((longest.length + longest.clearance) * scene.scale)
    required = float(strip.required[longest.stretch])
    many = counted(len(runs), "sharp piece of wood between grooves", "sharp pieces of wood between grooves")
    return [
        Finding(
            kind="land-tip",
            severity="warns",
            place=on_slat(scene, runs),
            measured=0.0,
            required=required,
            nominal=None,
            worst=0.0,
            message=f"{many} may crumble at the point, over up to {at_most(lost)}: "
            f"there less than {at_most(required)} is left standing.",
            cure="Nothing need be done if that is acceptable; wider angles between lines lose less.",
            count=len(runs),
            length=lost,
        )
    ]


def _counter_findings(scene: Scene, broken: Ints, counters: Floats) -> list[Finding]:
    if not len(broken):
        return []
    widths = 2 * scene.scale * (scene.anatomy.lands.peak[broken] - scene.slack)
    least = int(np.argmin(widths - counters[broken]))
    width, required = max(float(widths[least]), 0.0), float(counters[broken][least])
    loss = tooling.land_loss(scene.cut.bit, scene.cut.allowances)
    many = counted(len(broken), "enclosed piece of wood", "enclosed pieces of wood")
    return [
        Finding(
            kind="counter",
            severity="stops",
            place=scene.lands(broken),
            measured=down(width),
            required=required,
            nominal=down(width),
            worst=down(max(width - loss, 0.0)),
            message=f"{many} inside the art (as inside an 'o') will break out: "
            f"{at_least(width)} at its widest, needs {at_most(required)}.",
            cure="Make the art larger, thin its lines, or let these places be carved as well.",
            count=len(broken),
        )
    ]
