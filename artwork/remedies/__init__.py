"""What would make a cut carve: makeable sizes and ranked remedies, each already through the full check."""

from __future__ import annotations

from collections.abc import Sequence

from artwork.axis import Anatomy
from artwork.cut import Cut
from artwork.remedies.search import Search
from artwork.remedies.sizes import sizes
from artwork.remedies.values import Change, Code, Remedy, Sizes
from artwork.workpiece import Bit, Slat

__all__ = ["Change", "Code", "Remedy", "Sizes", "remedies", "sizes"]


def remedies(
    cut: Cut, anatomy: Anatomy, slats: Sequence[Slat] = (), bits: Sequence[Bit] = ()
) -> tuple[Remedy, ...]:
    """Changes after which the cut carves, the least change first; empty when it carves or nothing helps.

    Args:
        cut: the cut as it stands.
        anatomy: of its outline.
        slats: other slats of the same model that may carry art.
        bits: other bits the shop owns.
    """
    return tuple(Search(cut, anatomy, slats, bits).found())
