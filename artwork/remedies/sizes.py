"""The span of sizes at which art carves as it is, or why there is none."""

from __future__ import annotations

from dataclasses import replace
from math import inf, isinf

from artwork.axis import Anatomy
from artwork.cut import Cut
from artwork.errors import EngineError
from artwork.findings.wording import at_least, at_most
from artwork.placing import largest_fit
from artwork.remedies import resizing
from artwork.remedies.looking import Look, Looking
from artwork.remedies.told import ENTRY, at_the_least, at_the_most
from artwork.remedies.values import Sizes


def sizes(cut: Cut, anatomy: Anatomy) -> Sizes:
    """Makeable sizes of an outline on the cut's slat, with its bit, allowances and turn."""
    turn, mirrored = cut.placement.rotation_deg, cut.placement.mirrored
    try:
        fit = largest_fit(cut.outline, cut.slat, cut.allowances, turn, mirrored)
    except EngineError:
        return Sizes(inf, 0.0, False, "The slat leaves no room for it between its edges, ends and screws.")
    at = Looking(cut, anatomy, lambda scale: replace(fit, scale=scale))
    pixels = finest(cut, anatomy)
    most = min(fit.scale, pixels)
    least = resizing.least(at, most)
    if isinf(least) and pixels < fit.scale:  # coarse pixels only warn
        most = fit.scale
        least = resizing.least(at, most)
    if least <= most:
        return Sizes(least, most, True, _span(cut, anatomy, least, most))
    tightest = at(most)
    return Sizes(max(tightest.needed, most), most, False, contradiction(tightest, anatomy))


def finest(cut: Cut, anatomy: Anatomy) -> float:
    """Largest scale that the picture's pixels allow; infinite for drawings."""
    return inf if anatomy.pixel is None else cut.allowances.coarsest_pixel / anatomy.pixel


def _span(cut: Cut, anatomy: Anatomy, least: float, most: float) -> str:
    """The span in widths and heights as the art lies, each of which may be typed in."""
    wide, high = extent(anatomy, cut)
    told = []
    for size in (wide, high):
        low, top = least * size + ENTRY, most * size
        told.append((at_the_least(low, top), at_the_most(low, top)))
    (width, widest), (height, highest) = told
    if width is None or height is None or widest is None or highest is None:
        return f"It carves as it is at {at_least(most * wide)} wide and {at_least(most * high)} high alone."
    return (
        f"It carves as it is from {width.words} wide and {height.words} high "
        f"to {widest.words} wide and {highest.words} high."
    )


def extent(anatomy: Anatomy, cut: Cut) -> tuple[float, float]:
    """Width and height along the slat's x and y of the art as it is turned, at scale 1."""
    turned = anatomy.hull @ replace(cut.placement, scale=1.0).matrix.T
    wide, high = turned.max(axis=0) - turned.min(axis=0)
    return float(wide), float(high)


def contradiction(tightest: Look, anatomy: Anatomy) -> str:
    """What cannot be met at the largest size, in words and figures."""
    if isinf(tightest.line_required):
        return "Its lines cannot be carved deep enough on this slat with this bit, at any width."
    at = f"At the largest size that fits this slat ({at_least(tightest.scale * anatomy.size[0])} wide)"
    line, line_needed = tightest.line, tightest.line_required
    land, land_needed = tightest.land, tightest.land_required
    if line + land < line_needed + land_needed and not isinf(land):
        return (
            f"{at} its thinnest line is {at_least(line)} and needs {at_most(line_needed)}, "
            f"and the wood beside the lines is {at_least(land)} and needs {at_most(land_needed)}. "
            f"Together that is {at_least(line + land)} where {at_most(line_needed + land_needed)} are needed: "
            "thicker lines leave too little wood, thinner lines do not last."
        )
    if line < line_needed:
        return f"{at} its thinnest line is {at_least(line)}; it needs {at_most(line_needed)}."
    if land < land_needed:
        return f"{at} the wood between its lines is {at_least(land)}; it needs {at_most(land_needed)}."
    return f"{at} some of it would still be lost; the findings say what."
