"""The verdict, in one sentence that the events manager of a garden understands."""

from __future__ import annotations

from artwork.findings.kinds import STOPPING, WARNING, Kind
from artwork.findings.values import Finding, Verdict


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
