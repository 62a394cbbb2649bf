"""Lines: does every stroke survive the worst board, the round-over and the sanding?"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from functools import cached_property
from itertools import chain
from math import inf

import numpy as np
from shapely import GeometryCollection, MultiLineString

from artwork import tooling
from artwork.curves import Floats
from artwork.findings.finer import lowered_strip, rounded_up
from artwork.findings.flecks import are_flecks
from artwork.findings.forgiving import is_small_miss, is_stub, point_of
from artwork.findings.points import TIPS, point_findings
from artwork.findings.runs import Bools, Ints, Run, Strip, grouped, on_slat, strip_of, thin_runs
from artwork.findings.touching import is_contact, meets_in_notches
from artwork.findings.values import Finding
from artwork.findings.wording import at_least, at_most, counted, down, up
from artwork.scene import Scene

MOST_PLACES = 40
"""Thin places beyond this many are told in one finding together, so that a list stays readable."""


@dataclass(frozen=True, eq=False)
class Lines:
    """What the lines are like.

    Attributes:
        least, required: width of the line with the least to spare, and what it needs; mm.
        vanishing: numbers of the pieces of art that are too narrow everywhere.
        gone: how many of these leave nothing at all on the worst board.
        flecks: numbers of such pieces that nobody will miss.
        tips: how many points end early.
        touching: where two shapes meet that are carved as two.
        strip, needs: the axis as it was judged, and what each piece needs at its widest, mm.
        runs, stops: all thin runs, and those that stop.
        lost: numbers of the pieces that stop as a whole.
        tell: makes the findings.
    """

    least: float
    required: float
    vanishing: Ints
    gone: int
    flecks: Ints
    tips: int
    touching: list[Run]
    strip: Strip
    needs: Floats
    runs: list[Run]
    stops: list[Run]
    lost: Ints
    tell: Callable[[], list[Finding]]

    @cached_property
    def findings(self) -> tuple[Finding, ...]:
        """Thin lines, tips, parts that vanish; in words only where somebody asks."""
        return tuple(self.tell())


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
    nearly = np.array([_is_nearly_left(scene, strip, pieces, runs, number) for number in vanishing], bool)
    gone = _worst_left(scene, vanishing) <= 0
    ends = [
        run for run in told if run.tapering or is_stub(run, scene.scale, float(strip.required[run.stretch]))
    ]
    strokes = [run for run in told if run not in ends]
    touching = [
        run for run in strokes if is_contact(scene, strip, run) or meets_in_notches(scene, strip, run)
    ]
    thin = [run for run in strokes if run not in touching]
    small = small_misses(thin, [run for run in thin if _is_small(scene, strip, run)])
    points = [point_of(scene, strip, axis.tapers, run) for run in ends]
    stopping = [point for point in points if point.stops]
    noted = [point for point in points if point.told and not point.stops]
    least, required = _tightest(scene, strip, pieces, judged_stretches(strip, runs, flecks, touching), flecks)
    thick = [run for run in thin if run not in small]

    def tell() -> list[Finding]:
        return [
            *_line_findings(scene, strip, thick),
            *point_findings(scene, stopping, TIPS, "stops"),
            *_vanished(scene, vanishing[gone & ~nearly], pieces),
            *_shallow(scene, vanishing[~gone & ~nearly], pieces),
            *_nearly_findings(scene, strip, small, vanishing[nearly], pieces),
            *point_findings(scene, noted, TIPS, "warns"),
        ]

    tips = len(stopping) + len(noted)
    stops = [*thick, *(point.run for point in stopping)]
    return Lines(
        least=least,
        required=required,
        vanishing=vanishing,
        gone=int(gone.sum()),
        flecks=flecks,
        tips=tips,
        touching=touching,
        strip=strip,
        needs=pieces,
        runs=runs,
        stops=stops,
        lost=vanishing[~nearly],
        tell=tell,
    )


def small_misses(runs: list[Run], small: list[Run]) -> list[Run]:
    """Those that may be forgiven: none of a stroke that has a worse place."""
    groups = {run.group for run in runs if run not in small}
    return [run for run in small if run.group not in groups]


def _is_small(scene: Scene, strip: Strip, run: Run) -> bool:
    length = (run.length + run.way) * scene.scale
    return is_small_miss(scene, _width(scene, run.clearance), float(strip.required[run.stretch]), length)


def _is_nearly_left(scene: Scene, strip: Strip, pieces: Floats, runs: list[Run], number: int) -> bool:
    """Whether a piece that is too narrow everywhere is so by a hair, and short."""
    width = _width(scene, float(scene.anatomy.lines.peak[number]))
    length = sum(run.length for run in runs if strip.region[run.stretch] == number) * scene.scale
    return is_small_miss(scene, width, float(pieces[number]), length)


def _worst_left(scene: Scene, vanishing: Ints) -> Floats:
    """Depth left at the widest place of pieces, on the worst board, mm."""
    axis, cut = scene.anatomy.lines, scene.cut
    width = np.maximum(2 * scene.scale * (axis.peak[vanishing] - scene.slack), 0.0)
    lowered = np.zeros(len(vanishing))
    if scene.lowered_anywhere and len(vanishing):
        lowered = scene.lowered(scene.inside(scene.place(axis.peak_place[vanishing])))
    return tooling.worst_depth(width, scene.limit, cut.bit, cut.allowances, lowered)


def _width(scene: Scene, clearance: float) -> float:
    """Width on the safe side, mm."""
    return max(2 * scene.scale * (clearance - scene.slack), 0.0)


def _or_flatten(scene: Scene, width: float) -> str:
    """The next better way to hold the board as a cure, where it is one."""
    bit, allowances = scene.cut.bit, scene.cut.allowances
    cup = allowances.unevenness - scene.held_within  # a probe follows it, one zero for the board does not
    for holding, words, now, stays in (
        ("zeroed", "set the zero on each board", scene.held_within, cup),
        ("probed", "flatten or probe the board", allowances.unevenness, 0.0),
    ):
        within = tooling.HOLDING[holding]
        enough = tooling.least_line(bit, replace(allowances, unevenness=within + stays), 0.0)
        if within < now and width >= enough:
            return f"; or {words} to ±{within:.2f} mm where this width is enough"
    return ""


def larger_by(width: float, required: float) -> str:
    """The one-step cure of a small miss."""
    share = up(required / max(width, 1e-6) - 1, 0.001)
    return f"Nothing need be done; {100 * share:.1f} % larger it has all it needs."


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
    needed = rounded_up(tooling.least_line(scene.cut.bit, allowances, lowered))
    return np.where(tooling.needed_depth(allowances, lowered) > scene.limit, inf, needed)


def _vanishing(scene: Scene, strip: Strip, pieces: Floats) -> Ints:
    """Pieces that are too narrow everywhere."""
    error = scene.slack
    survives = 2 * scene.scale * (scene.anatomy.lines.peak - error) >= pieces
    lasting = 2 * scene.scale * (strip.clearance.max(axis=1, initial=0.0) - error) >= strip.required
    survives[strip.region[lasting]] = True
    return np.flatnonzero(~survives)


def judged_stretches(strip: Strip, runs: list[Run], flecks: Ints, touching: list[Run]) -> Bools:
    """Stretches of strokes, as opposed to points, slight dead ends, flecks and where two shapes meet."""
    stroke = (strip.taper < 0) & ~np.isin(strip.region, flecks)
    for run in runs:
        if run.slight or run in touching:
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
    width = _width(scene, run.clearance)
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
        else f"Make the art larger, thicken its lines, or use a wider slat{_or_flatten(scene, width)}.",
        count=len(runs),
        length=length,
    )


def _nearly_findings(
    scene: Scene, strip: Strip, runs: list[Run], parts: Ints, pieces: Floats
) -> list[Finding]:
    """Lines and parts that are short by a hair over a short way, in one finding."""
    if not runs and not len(parts):
        return []
    missing = [(_width(scene, run.clearance), float(strip.required[run.stretch])) for run in runs]
    missing += [(_width(scene, float(scene.anatomy.lines.peak[i])), float(pieces[i])) for i in parts]
    width, required = min(missing, key=lambda each: each[0] / each[1])
    lengths = [run.told * scene.scale for run in runs]
    length = up(max([*lengths, *(scene.anatomy.piece_span[parts] * scene.scale)]))
    worst = tooling.worst_depth(width, scene.limit, scene.cut.bit, scene.cut.allowances, 0.0)
    places = [*(on_slat(scene, runs).geoms if runs else ()), *scene.pieces(parts).geoms]
    return [
        Finding(
            kind="line",
            severity="warns",
            place=MultiLineString(places) if not len(parts) else GeometryCollection(places),
            measured=down(width),
            required=required,
            nominal=down(min(tooling.groove_depth(width, scene.cut.bit), scene.limit)),
            worst=down(worst),
            message=f"At {counted(len(missing), 'place', 'places')} a line is a hair short: {at_least(width)} "
            f"over {at_most(length)} where {at_most(required)} are wanted.",
            cure=larger_by(width, required),
            count=len(missing),
            length=length,
        )
    ]


def _shallow(scene: Scene, parts: Ints, pieces: Floats) -> list[Finding]:
    """Parts that are too shallow everywhere, though something of them is left, in one finding."""
    if not len(parts):
        return []
    left = _worst_left(scene, parts)
    lacking = int(np.argmin(left))
    width, need = (
        _width(scene, float(scene.anatomy.lines.peak[parts[lacking]])),
        float(pieces[parts[lacking]]),
    )
    bit, wanted = scene.cut.bit, scene.cut.allowances.least_depth
    by_edge = width >= flat_requirement(scene)
    what = counted(len(parts), "part is too thin", "parts are too thin")
    because = " because the round-over takes the face away" if by_edge else ""
    needs = "no width would do there" if np.isinf(need) else f"needs {at_most(need)}"
    return [
        Finding(
            kind="round-over" if by_edge else "line",
            severity="stops",
            place=scene.pieces(parts),
            measured=down(width),
            required=None if np.isinf(need) else need,
            nominal=down(min(tooling.groove_depth(width, bit), scene.limit)),
            worst=down(float(left[lacking])),
            message=f"{what} everywhere; the thinnest is {at_least(width)} at its widest and {needs}{because}. "
            f"It would be {at_least(float(left[lacking]))} deep at worst, we want {at_most(wanted)}.",
            cure="Make the art larger, thicken it, or leave these parts out"
            f"{'' if by_edge else _or_flatten(scene, width)}.",
            count=len(parts),
            length=up(float(scene.anatomy.piece_span[parts].max()) * scene.scale),
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
