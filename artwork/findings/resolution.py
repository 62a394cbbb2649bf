"""Resolution: is the picture fine enough for the size it is carved at?"""

from __future__ import annotations

from math import ceil

from shapely import Polygon, box

from artwork.findings.values import Finding
from artwork.findings.wording import at_least, at_most, down, up
from artwork.scene import Scene

FINEST_ASKED = 0.25
"""A larger file is asked for down to this share of the coarsest pixel: more would not show in wood."""


def judge_resolution(scene: Scene, spare: float) -> list[Finding]:
    """A finding where pixels are coarser than the shop allows, or than what lines and lands have to spare.

    Args:
        scene: the cut.
        spare: what the tightest line or land has above its requirement, mm. Tracing places both of its edges
            within half a pixel, so its width is known within one.
    """
    if scene.anatomy.pixel is None:
        return []
    pixel = scene.anatomy.pixel * scene.scale
    coarsest = scene.cut.allowances.coarsest_pixel
    unsure = 0 <= spare < pixel
    if pixel <= coarsest and not unsure:
        return []
    wanted = max(min(coarsest, spare if unsure else coarsest), FINEST_ASKED * coarsest)
    if not unsure:
        why = f"the shop allows {at_most(coarsest)} before edges look stepped"
    elif pixel <= wanted:
        return []
    else:
        why = f"the tightest line or land has only {at_least(spare)} to spare"
    across = ceil(max(scene.anatomy.size) * scene.scale / wanted)
    return [
        Finding(
            kind="resolution",
            severity="warns",
            place=_extent(scene),
            measured=up(pixel),
            required=down(wanted),
            nominal=None,
            worst=None,
            message=f"One pixel of the picture is {at_most(pixel)} on the wood; {why}.",
            cure=f"Send a larger file: at least {across} pixels across the art, or a vector drawing.",
        )
    ]


def _extent(scene: Scene) -> Polygon:
    return box(*scene.hull.bounds)
