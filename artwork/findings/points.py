"""Points that end early, of lines and of wood between them: told in one finding for all of a kind."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from artwork.findings.forgiving import Point
from artwork.findings.kinds import Kind
from artwork.findings.runs import on_slat
from artwork.findings.values import Finding, Severity
from artwork.findings.wording import at_most, counted, up
from artwork.scene import Scene


@dataclass(frozen=True)
class PointWords:
    """What is said of points of one kind.

    Attributes:
        one, many: the points and what becomes of them.
        over: how they lose length.
        why: with the width they fall short of.
        nowhere: why, where no width would do.
        noted, stopped: the cure of what somebody should know, and of what stops.
    """

    kind: Kind
    one: str
    many: str
    over: str
    why: str
    nowhere: str
    noted: str
    stopped: str


TIPS = PointWords(
    kind="tip",
    one="point ends",
    many="points end",
    over="earlier than drawn, by up to",
    why="there it gets narrower than {}",
    nowhere="there no line can survive",
    noted="blunter points lose less",
    stopped="make the points blunter",
)
SHARP_WOOD = PointWords(
    kind="land-tip",
    one="sharp piece of wood between grooves",
    many="sharp pieces of wood between grooves",
    over="may crumble at the point, over up to",
    why="there less than {} is left standing",
    nowhere="there no wood can stand",
    noted="wider angles between lines lose less",
    stopped="make that piece of wood wider",
)


def point_findings(scene: Scene, points: list[Point], words: PointWords, severity: Severity) -> list[Finding]:
    """All of these points in one finding, told by the longest."""
    if not points:
        return []
    longest = max(points, key=lambda point: point.lost)
    lost, share = up(longest.lost), up(max(point.share for point in points))
    endless = bool(np.isinf(longest.required))
    why = words.nowhere if endless else words.why.format(at_most(longest.required))
    return [
        Finding(
            kind=words.kind,
            severity=severity,
            place=on_slat(scene, [point.run for point in points]),
            measured=0.0,
            required=None if endless else longest.required,
            nominal=None,
            worst=0.0,
            message=f"{counted(len(points), words.one, words.many)} {words.over} {at_most(lost)} and "
            f"{100 * share:.0f} % of its length: {why}.",
            cure=f"Nothing need be done if that is acceptable; {words.noted}."
            if severity == "warns"
            else f"Make the art larger, or {words.stopped}.",
            count=len(points),
            length=lost,
        )
    ]
