"""What a sender should know about what they sent: a file that was read, a text that was set."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

Severity = Literal["warns", "tells"]


@dataclass(frozen=True)
class FileWarning:
    """Something about the file or text that its sender should know.

    Attributes:
        code: stable identifier, lower case with hyphens.
        message: one or two sentences.
        severity: ``"warns"`` where the result may not be what was meant, else ``"tells"``.
        place: left, low, right, high in outline units, where it is about one place.
    """

    code: str
    message: str
    severity: Severity = "tells"
    place: tuple[float, float, float, float] | None = None
