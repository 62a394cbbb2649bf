"""Kinds of findings: what each means, and what the verdict says of it. A new kind is named and put in words here."""

from __future__ import annotations

from typing import Final, Literal

Kind = Literal[
    "line", "tip", "vanishing", "fleck", "land", "land-tip", "counter", "depth", "hidden",
    "round-over", "edge-margin", "end-margin", "off-slat", "keep-out", "edge-land", "resolution",
    "touching", "gaps",
]  # fmt: skip
EARLIER_KINDS: Final = ("floor", "nick")
"""Kinds that checks of the first engine know: no risk and no surprise."""

MEANINGS: Final[dict[str, str]] = {
    "line": "a line is too thin to be carved deep enough",
    "tip": "a sharp point of a line ends early",
    "vanishing": "a part disappears altogether",
    "fleck": "a speck is too small to be seen",
    "land": "wood between lines is too thin to stand",
    "land-tip": "a sharp sliver of wood would crumble at its point",
    "counter": "a small island of wood inside a shape would break out",
    "depth": "the slat is too thin to carve deep enough",
    "hidden": "the cut would meet a screw or joint below the face",
    "round-over": "the slat's rounded edge takes some of it away",
    "edge-margin": "closer to the edge than the workshop likes",
    "end-margin": "closer to the end of the slat than the workshop likes",
    "off-slat": "a part lies beyond the slat's edge",
    "keep-out": "too close to a screw or joint",
    "edge-land": "too little wood is left between it and the slat's edge",
    "resolution": "the picture is coarse for this size",
    "touching": "shapes touch each other at points",
    "gaps": "the gaps between the slats take a part of it",
    "floor": "a flat bottom; only in checks of the first engine",
    "nick": "a small notch; only in checks of the first engine",
}
"""What has been found."""
STOPPING: Final[dict[Kind, str]] = {
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
WARNING: Final[dict[Kind, str]] = {
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
