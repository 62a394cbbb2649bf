"""The check of a cut: every judge in turn, the verdict, and the figures behind it."""

from __future__ import annotations

from math import isinf

from artwork import tooling
from artwork.axis import Anatomy
from artwork.cut import Cut
from artwork.findings.depth import Depth, judge_depth
from artwork.findings.edges import judge_edges
from artwork.findings.flecks import fleck_findings
from artwork.findings.hints import consistent
from artwork.findings.lands import Lands, judge_lands
from artwork.findings.lines import Lines, judge_lines
from artwork.findings.resolution import judge_resolution
from artwork.findings.telling import told
from artwork.findings.touching import touching_findings
from artwork.findings.values import Check, Figures
from artwork.findings.verdict import verdict_of
from artwork.findings.wording import at_least, down, up
from artwork.machining import carving_time
from artwork.scene import Scene


def check(cut: Cut, anatomy: Anatomy) -> Check:
    """Judges a cut at its worst: uneven board, round-over, sanding, tool limits.

    Args:
        cut: what is to be carved, where, with what, under which allowances.
        anatomy: of the cut's outline, from :func:`artwork.axis.study`.
    """
    scene = Scene(cut, anatomy)
    return checked(scene, judge_lines(scene), judge_lands(scene))


def checked(scene: Scene, lines: Lines, lands: Lands) -> Check:
    """As :func:`check`, where lines and lands have been judged already."""
    depth, cut = judge_depth(scene), scene.cut
    spare = min(lines.least - lines.required, lands.least - lands.required)
    found = [
        *judge_edges(scene),
        *depth.findings,
        *lines.findings,
        *lands.findings,
        *touching_findings(scene, lines.touching, lands.touching),
        *fleck_findings(scene, lines.flecks, lands.flecks),
        *judge_resolution(scene, spare),
    ]
    findings = told(consistent(scene, found), cut.slat.outline)
    verdict, sentence = verdict_of(findings)
    return Check(verdict, sentence, findings, _figures(scene, lines, lands, depth))


def _figures(scene: Scene, lines: Lines, lands: Lands, depth: Depth) -> Figures:
    bit, allowances = scene.cut.bit, scene.cut.allowances
    floor_area = depth.floor.area
    carving = carving_time(scene, depth.floor)
    unevenness = _unevenness(scene, lines, lands)
    left, low, right, high = scene.hull.bounds
    pixel = scene.anatomy.pixel
    required = tooling.least_line(bit, allowances, 0.0) if isinf(lines.required) else lines.required
    return Figures(
        least_line=down(lines.least),
        least_line_required=up(required),
        least_land=_least_land(lands),
        least_land_required=up(lands.required),
        depth=depth.program,
        deepest_cut=depth.deepest,
        depth_limit=down(scene.limit),
        wood_left=depth.wood_left,
        floor_area=up(floor_area),
        width=up(right - left - 2 * scene.error),
        height=up(high - low - 2 * scene.error),
        pixel=None if pixel is None else up(pixel * scene.scale),
        unevenness_limit=unevenness,
        tips=lines.tips,
        vanishing=lines.gone,
        flecks=len(lines.flecks) + len(lands.flecks),
        minutes=up(carving.minutes, 0.1),
        path_length=up(carving.path_length, 1.0),
        assumptions=carving.assumptions,
        sensitivity=_sensitivity(unevenness, allowances.unevenness),
        line_costs=tooling.line_costs(bit, allowances),
        land_costs=tooling.land_costs(bit, allowances, 1.0),
    )


def _least_land(lands: Lands) -> float | None:
    """The tightest land; where the art leaves none but flecks, the narrowest of these."""
    least = lands.fleck if isinf(lands.least) else lands.least
    return None if isinf(least) else down(least)


def _unevenness(scene: Scene, lines: Lines, lands: Lands) -> float | None:
    """'Passes up to so much unevenness': by the tightest line and land, and by the depth limit."""
    if isinf(lines.required):
        return None
    spare = lines.least - lines.required
    # a line's need rises with unevenness and is rounded up each time: whole hundredths are all that is sure
    slack = min(spare if isinf(spare) else down(spare), lands.least - lands.required)
    cut = scene.cut
    found = tooling.tolerated_unevenness(slack, cut.slat, cut.bit, cut.allowances)
    return down(found) if found >= 0 else None


def _sensitivity(limit: float | None, allowed: float) -> str:
    """How much worse, or better, the board might be."""
    if limit is None:
        return "Its lines and lands would not hold even on a perfectly flat board."
    if limit < allowed:
        return f"Its lines and lands hold only where the board is even within {at_least(limit)}."
    return f"Its lines and lands hold up to {at_least(limit)} of unevenness."
