"""A judge of carvings that knows nothing of the engine but its values: fields of exact distances on a fine grid.

``judge(cut)`` carves at its worst and looks at what is left; ``Ground`` does so for many sizes of one cut.

    from tests.judging import judge
    found = judge(cut)
    found.whole          # nothing lost that matters
    found.lines          # losses of lines, each with its place on the slat, its length, and what it is
    found.lands          # the same for the wood that should stand
    found.margin         # by which share every width could be smaller and all still be whole
"""

from tests.judging.fates import Loss
from tests.judging.ground import Ground, Judged, judge

__all__ = ["Ground", "Judged", "Loss", "judge"]
