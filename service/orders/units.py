"""The unit of length that a workshop measures in."""

from __future__ import annotations

from enum import StrEnum


class Units(StrEnum):
    """What a workshop's sheets and pages give lengths in; drawings and data files are in millimetres whatever it is."""

    MM = "mm"
    INCH = "inch"
