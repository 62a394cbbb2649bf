"""The span of sizes at which art carves as it is, or why there is none."""

from __future__ import annotations

from artwork.axis import Anatomy
from artwork.cut import Cut
from artwork.findings.wording import at_least, at_most
from artwork.placing import largest_fit
from artwork.refusal import Refusal
from artwork.remedies.programme import Programme, programme
from artwork.remedies.values import Sizes
from artwork.scene import Scene


def sizes(cut: Cut, anatomy: Anatomy) -> Sizes:
    """Makeable sizes of an outline on the cut's slat, with its bit, allowances and turn."""
    limits = programme(Scene(cut, anatomy), largest_scale(cut))
    least, most = limits.least, limits.most
    if least <= most:
        return Sizes(least, most, True, _span(anatomy, least, most))
    return Sizes(least, most, False, contradiction(limits, anatomy))


def largest_scale(cut: Cut) -> float:
    """Scale of the largest fit on the cut's slat, 0 where it has no room."""
    placement = cut.placement
    try:
        return largest_fit(
            cut.outline, cut.slat, cut.allowances, placement.rotation_deg, placement.mirrored
        ).scale
    except Refusal:
        return 0.0


def _span(anatomy: Anatomy, least: float, most: float) -> str:
    width, height = anatomy.size
    return (
        f"It carves as it is from {at_most(least * width)} wide and {at_most(least * height)} high "
        f"to {at_least(most * width)} wide and {at_least(most * height)} high."
    )


def contradiction(limits: Programme, anatomy: Anatomy) -> str:
    """The two requirements that cannot both be met, in words and figures."""
    most = limits.most
    width = most * anatomy.size[0]
    if most <= 0:
        return "The slat leaves no room for it between its edges, ends and screws."
    bound = "the picture's pixels allow" if limits.resolution < limits.fit else "fits this slat"
    at = f"At the largest size that {bound} ({at_least(width)} wide)"
    if limits.line_required == float("inf"):
        return "Its lines cannot be carved deep enough on this slat with this bit, at any width."
    if len(limits.lands) and limits.with_offset()[0] > limits.with_offset()[1]:
        number = limits.tightest_land()
        line, land = most * limits.line, most * float(limits.lands[number])
        needed = float(limits.lands_required[number])
        return (
            f"{at} its thinnest line is {at_least(line)} and needs {at_most(limits.line_required)}, "
            f"and the wood beside the lines is {at_least(land)} and needs {at_most(needed)}. "
            f"Together that is {at_least(line + land)} where "
            f"{at_most(limits.line_required + needed)} are needed: thicker lines leave too little wood, "
            "thinner lines do not last."
        )
    if limits.line * most < limits.line_required:
        line, needed = limits.line * most, limits.line_required
        return f"{at} its thinnest line is {at_least(line)}; it needs {at_most(needed)}."
    number = int((limits.lands * most - limits.lands_required).argmin())
    land, needed = most * float(limits.lands[number]), float(limits.lands_required[number])
    return f"{at} the wood between its lines is {at_least(land)}; it needs {at_most(needed)}."
