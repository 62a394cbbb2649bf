"""Packed outlines unpacked and studied. A process keeps the last few, so that coming back to one costs nothing."""

from __future__ import annotations

from functools import lru_cache
from typing import TYPE_CHECKING

from artwork.outline import Outline
from artwork.outline_file import unpack

if TYPE_CHECKING:
    from artwork.axis import Anatomy

_KEPT = 4


@lru_cache(maxsize=_KEPT)
def outline_of(packed: bytes) -> Outline:
    """The outline itself."""
    return unpack(packed)


@lru_cache(maxsize=_KEPT)
def anatomy_of(packed: bytes) -> Anatomy:
    """Its anatomy."""
    from artwork.axis import study

    return study(outline_of(packed))
