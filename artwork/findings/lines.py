"""Lines: does every stroke survive the worst board, the round-over and the sanding?"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import chain
from math import inf

import numpy as np
from shapely import MultiLineString

from artwork import tooling
from artwork.curves import Floats
from artwork.findings.finer import lowered_strip
from artwork.findings.flecks import are_flecks
from artwork.findings.runs import Bools, Ints, Run, Strip, grouped, strip_of, thin_runs
from artwork.findings.values import Finding
from artwork.findings.wording import at_least, at_most, counted, down, up
from artwork.scene import Scene
from artwork.shapes import ways

MOST_PLACES = 40
"""Thin places beyond this many are told in one finding together, so that a list stays readable."""


@dataclass(frozen=True, eq=False)
class Lines:
    """What the lines are like.

    Attributes:
        findings: thin lines, tips, parts that vanish.
        least, required: width of the line with the least to spare, and what it needs; mm.
        vanishing: numbers of the pieces of art of which nothing survives.
        flecks: numbers of such pieces that nobody will miss.
        tips: how many points end early.
        nicks: runs that are slight only because so much is required.
    """

    findings: tuple[Finding, ...]
    least: float
    required: float
    vanishing: Ints
    flecks: Ints
    tips: int
    nicks: list[Run]


def judge_lines(scene: Scene) -> Lines:
    """Judges every stretch of the carved axis, and every piece of art as a whole."""
    axis = scene.anatomy.lines
    base = flat_requirement(scene)
    if scene.lowered_anywhere:
        strip = lowered_strip(scene, axis)
    else:
        count = len(axis.region)
        strip = strip_of(axis, np.full(count, base), np.zeros(count))
    pieces = _piece_requirements(scene, base)
    vanishing = _vanishing(scene, strip, pieces)
    runs = thin_runs(strip, scene.scale, scene.slack)
    told = [run for run in runs if not run.slight and strip.region[run.stretch] not in vanishing]
    fleck = are_flecks(scene, scene.anatomy.piece_span[vanishing], pieces[vanishing])
    flecks, vanishing = vanishing[fleck], vanishing[~fleck]
    nicks = [run for run in runs if run.nick and strip.region[run.stretch] not in (*vanishing, *flecks)]
    lines = [run for run in told if not run.tapering]
    tips = [run for run in told if run.tapering]
    least, required = _tightest(scene, strip, pieces, judged_stretches(strip, runs, flecks), flecks)
    found = [
        *_line_findings(scene, strip, lines),
        *_tip_findings(scene, strip, tips),
        *_vanished(scene, vanishing, pieces),
    ]
    return Lines(tuple(found), least, required, vanishing, flecks, len(tips), nicks)


def flat_requirement(scene: Scene) -> float:
    """Least line width on the flat face, mm; infinite where the depth limit lets no line survive."""
    allowances = scene.cut.allowances
    if tooling.needed_depth(allowances, 0.0) > scene.limit:
        return inf
    return up(tooling.least_line(scene.cut.bit, allowances, 0.0))


def _piece_requirements(scene: Scene, base: float) -> Floats:
    """What each piece needs at its widest place, mm."""
    axis = scene.anatomy.lines
    if not scene.lowered_anywhere:
        return np.full(len(axis.peak), base)
    allowances = scene.cut.allowances
    lowered = scene.lowered(scene.inside(scene.place(axis.peak_place)))
    needed = np.array([up(width) for width in tooling.least_line(scene.cut.bit, allowances, lowered)])
    return np.where(tooling.needed_depth(allowances, lowered) > scene.limit, inf, needed)


def _vanishing(scene: Scene, strip: Strip, pieces: Floats) -> Ints:
    """Pieces that are too narrow everywhere."""
    error = scene.slack
    survives = 2 * scene.scale * (scene.anatomy.lines.peak - error) >= pieces
    lasting = 2 * scene.scale * (strip.clearance.max(axis=1, initial=0.0) - error) >= strip.required
    survives[strip.region[lasting]] = True
    return np.flatnonzero(~survives)


def judged_stretches(strip: Strip, runs: list[Run], flecks: Ints) -> Bools:
    """Stretches of strokes, as opposed to branches that end in a point, slight dead ends and flecks."""
    stroke = (strip.taper < 0) & ~np.isin(strip.region, flecks)
    for run in runs:
        if run.slight:
            stroke[run.members] = False
    return np.asarray(stroke)


def _tightest(scene: Scene, strip: Strip, pieces: Floats, stroke: Bools, flecks: Ints) -> tuple[float, float]:
    """Width and requirement of the line with the least to spare: strokes, and pieces at their widest."""
    axis = scene.anatomy.lines
    parts = np.delete(np.arange(len(pieces)), flecks)
    widths = [axis.peak[parts], strip.least[stroke]]
    needs = [pieces[parts], strip.required[stroke]]
    width = 2 * scene.scale * (np.concatenate(widths) - scene.slack)
    need = np.concatenate(needs)
    if not len(width):  # nothing but flecks
        return 0.0, float(pieces.max())
    spare = np.where(np.isinf(need), -np.inf, width - need)
    worst = int(np.lexsort((width, spare))[0])
    return max(float(width[worst]), 0.0), float(need[worst])


def _line_findings(scene: Scene, strip: Strip, runs: list[Run]) -> list[Finding]:
    groups = grouped(runs)
    shown, rest = groups[:MOST_PLACES], list(chain.from_iterable(groups[MOST_PLACES:]))
    return [_line_finding(scene, strip, group) for group in (*shown, rest) if group]


def _line_finding(scene: Scene, strip: Strip, runs: list[Run]) -> Finding:
    run = runs[0]
    width = max(2 * scene.scale * (run.clearance - scene.slack), 0.0)
    required = float(strip.required[run.stretch])
    lowered = float(strip.lowered[run.stretch])
    length = up(sum(each.length for each in runs) * scene.scale)
    bit, allowances = scene.cut.bit, scene.cut.allowances
    nominal = down(min(tooling.groove_depth(width, bit), scene.limit))
    worst = down(tooling.worst_depth(width, scene.limit, bit, allowances, lowered))
    by_edge = lowered > 0 and width >= flat_requirement(scene)
    what = f"A line {at_least(width)} wide, thin over {at_most(length)},"
    if len({run.group for run in runs}) > 1:
        what = f"More lines, the thinnest {at_least(width)} wide, thin over {at_most(length)} together,"
    left = f"At worst {at_least(worst)} of depth is left" if worst > 0 else "At worst nothing of it is left"
    hopeless = "lies where no line can survive at any width"
    needs = hopeless if np.isinf(required) else f"needs {at_most(required)} here"
    because = " because the round-over takes the face away" if by_edge else ""
    return Finding(
        kind="round-over" if by_edge else "line",
        severity="stops",
        place=on_slat(scene, runs),
        measured=down(width),
        required=None if np.isinf(required) else required,
        nominal=nominal,
        worst=worst,
        message=f"{what} {needs}{because}. {left}; {at_most(allowances.least_depth)} still reads.",
        cure="Move the art away from the rounded edge, or make it smaller."
        if by_edge
        else "Make the art larger, thicken its lines, or use a wider slat.",
        count=len(runs),
        length=length,
    )


def _tip_findings(scene: Scene, strip: Strip, runs: list[Run]) -> list[Finding]:
    if not runs:
        return []
    longest = max(runs, key=lambda run: run.length)
    # beyond the axis' end a rounded point goes on for its own radius
    lost = up((longest.length + longest.clearance) * scene.scale)
    required = float(strip.required[longest.stretch])
    many = counted(len(runs), "point ends", "points end")
    why = (
        "there no line can survive"
        if np.isinf(required)
        else f"there it gets narrower than {at_most(required)}"
    )
    return [
        Finding(
            kind="tip",
            severity="warns",
            place=on_slat(scene, runs),
            measured=0.0,
            required=None if np.isinf(required) else required,
            nominal=None,
            worst=0.0,
            message=f"{many} earlier than drawn, by up to {at_most(lost)}: {why}.",
            cure="Nothing need be done if that is acceptable; blunter points lose less.",
            count=len(runs),
            length=lost,
        )
    ]


def _vanished(scene: Scene, vanishing: Ints, pieces: Floats) -> list[Finding]:
    """Parts of which nothing survives, from dots to whole hairlines, in one finding."""
    if not len(vanishing):
        return []
    axis = scene.anatomy.lines
    shapes = scene.pieces(vanishing)
    widths = 2 * scene.scale * (axis.peak[vanishing] - scene.slack)
    required = pieces[vanishing]
    widest = int(np.argmax(widths))
    width, need = max(float(widths[widest]), 0.0), float(required[widest])
    bit = scene.cut.bit
    reach = max(
        max(part.bounds[2] - part.bounds[0], part.bounds[3] - part.bounds[1]) for part in shapes.geoms
    )
    what = counted(len(vanishing), "part vanishes", "parts vanish")
    needs = "no width would survive there" if np.isinf(need) else f"it needs {at_most(need)}"
    return [
        Finding(
            kind="vanishing",
            severity="stops",
            place=shapes,
            measured=down(width),
            required=None if np.isinf(need) else need,
            nominal=down(min(tooling.groove_depth(width, bit), scene.limit)),
            worst=0.0,
            message=f"{what} altogether; the widest is {at_least(width)} wide where {needs}, "
            f"the longest {at_most(reach)} across.",
            cure="Leave these parts out, make the art larger, or thicken it.",
            count=len(vanishing),
            length=up(reach),
        )
    ]


def on_slat(scene: Scene, runs: list[Run]) -> MultiLineString:
    """The runs' ways in slat mm."""
    lines = scene.place(np.concatenate([run.lines for run in runs]))
    return ways(lines)
