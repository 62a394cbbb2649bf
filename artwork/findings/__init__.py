"""Whether a cut carves: findings with their places, a verdict, and the figures behind it."""

from __future__ import annotations

from typing import TYPE_CHECKING

from artwork.findings.kinds import Kind
from artwork.findings.values import Check, Figures, Finding, Severity, Verdict

if TYPE_CHECKING:
    from artwork.findings.checking import check
    from artwork.scene import Scene

__all__ = ["Check", "Figures", "Finding", "Kind", "Scene", "Severity", "Verdict", "check"]


def __getattr__(name: str) -> object:
    """Load the judges when they are first asked for: who only reads stored checks needs none of them."""
    if name == "check":
        from artwork.findings import checking

        return checking.check
    if name == "Scene":
        from artwork import scene

        return scene.Scene
    raise AttributeError(name)
