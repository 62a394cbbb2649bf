"""What would make a cut carve: makeable sizes and ranked remedies, each already through the full check."""

from __future__ import annotations

import logging
from collections.abc import Callable, Sequence

from artwork.axis import Anatomy
from artwork.cut import Cut
from artwork.remedies.search import Search
from artwork.remedies.sizes import sizes
from artwork.remedies.values import Remedy, Sizes
from artwork.workpiece import Bit, Slat

__all__ = ["Remedy", "Sizes", "remedies", "sizes"]


log = logging.getLogger(__name__)


def _tell(proposal: str, error: Exception) -> None:
    log.warning("the proposal %s failed", proposal, exc_info=error)


def remedies(
    cut: Cut,
    anatomy: Anatomy,
    slats: Sequence[Slat] = (),
    bits: Sequence[Bit] = (),
    failed: Callable[[str, Exception], None] = _tell,
) -> tuple[Remedy, ...]:
    """Changes after which the cut carves, the least change first; empty when it carves or nothing helps.

    Args:
        cut: the cut as it stands.
        anatomy: of its outline.
        slats: other slats of the same model that may carry art.
        bits: other bits the shop owns.
        failed: told which proposal could not be worked out, and why; the others are given all the same.
    """
    return tuple(Search(cut, anatomy, slats, bits, failed).found())
