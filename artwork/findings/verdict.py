"""The verdict, in one sentence that the events manager of a garden understands."""

from __future__ import annotations

from artwork.findings.values import Finding, Kind, Verdict

STOPPING: dict[Kind, str] = {
    "off-slat": "part of it lies beyond the edge of the slat",
    "depth": "this slat is too thin to carve deep enough",
    "keep-out": "it comes too close to a screw or joint",
    "hidden": "it would cut into a screw or joint below the face",
    "edge-land": "too little wood is left between it and the edge of the slat",
    "line": "some lines are too thin to last",
    "vanishing": "some small parts would disappear altogether",
    "round-over": "the rounded edge of the slat would take some lines away",
    "tip": "sharp points would lose most of their length",
    "counter": "the small islands of wood inside it would break out",
    "land": "the wood between some lines is too thin to stand",
    "land-tip": "sharp slivers of wood would crumble over most of their length",
}
"""Why it will not carve, the most basic reasons first."""
WARNING: dict[Kind, str] = {
    "gaps": "the gaps between the slats take a part of it",
    "touching": "shapes touch each other in a few places",
    "tip": "sharp points end early",
    "land-tip": "sharp slivers of wood may crumble at their points",
    "line": "a line is a hair thinner than the workshop likes",
    "land": "the wood between some lines is a hair thinner than the workshop likes",
    "counter": "a small island of wood is a hair smaller than the workshop likes",
    "round-over": "some of it runs out into the rounded edge",
    "edge-margin": "it lies closer to the edge than the workshop likes",
    "end-margin": "it lies closer to the end of the slat than the workshop likes",
    "fleck": "a few specks are too small to be seen",
    "resolution": "the picture is coarse for this size, so edges may look uneven",
}
"""What somebody should know although it carves."""


def verdict_of(findings: tuple[Finding, ...]) -> tuple[Verdict, str]:
    """Verdict and sentence."""
    stops = [finding for finding in findings if finding.severity == "stops"]
    if stops:
        return "will-not-carve", f"This will not carve well as it is: {_reasons(STOPPING, stops)}."
    if findings:
        return "carves-with-remarks", f"This will carve; please note: {_reasons(WARNING, list(findings))}."
    return "carves", "This will carve: every line and every bit of wood between the lines will last."


def _reasons(words: dict[Kind, str], findings: list[Finding]) -> str:
    kinds = {finding.kind for finding in findings}
    reasons = [reason for kind, reason in words.items() if kind in kinds]
    if len(reasons) == 1:
        return reasons[0]
    return f"{', '.join(reasons[:-1])} and {reasons[-1]}"
