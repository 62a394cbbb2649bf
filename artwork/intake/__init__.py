"""Artwork intake: a client's file in, closed regions to be carved out, with a report of what was done."""

from __future__ import annotations

from typing import TYPE_CHECKING

from artwork.intake.values import Ink, Limits, Reading, Wishes
from artwork.remark import FileWarning

if TYPE_CHECKING:
    from artwork.intake.reader import read_artwork

__all__ = ["FileWarning", "Ink", "Limits", "Reading", "Wishes", "read_artwork"]


def __getattr__(name: str) -> object:
    """Load the readers of all formats when a file is first read: who only tells of a reading needs none."""
    if name == "read_artwork":
        from artwork.intake import reader

        return reader.read_artwork
    raise AttributeError(name)
