"""Artwork intake: a client's file in, closed regions to be carved out, with a report of what was done."""

from artwork.intake.reader import read_artwork
from artwork.intake.values import Ink, Limits, Reading, Remark, Wishes

__all__ = ["Ink", "Limits", "Reading", "Remark", "Wishes", "read_artwork"]
