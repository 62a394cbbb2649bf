"""A file that is sent in parts, over a line that may break in between."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime, timedelta

LIFE = timedelta(hours=6)
"""An upload that is not whole by then is let go; its parts are files that no row names, and are swept a day later."""
MOST_OPEN = 10
"""Uploads of one order that are not whole, at once."""
MOST_PARTS = 1000


@dataclass(frozen=True)
class OpenUpload:
    """One file on its way.

    Attributes:
        order_id: which order it is for.
        fields: what its sender says of it: ``filename``, ``filetype``, ``carvings``.
        length: of the whole file, bytes.
        taken: bytes that are here.
        parts: digests of what is here, in their order.
        expires_at: until when it can be gone on with, UTC.
    """

    id: str
    workshop_id: str
    order_id: str
    fields: Mapping[str, str]
    length: int
    taken: int
    parts: tuple[str, ...]
    expires_at: datetime
