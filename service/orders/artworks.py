"""Artwork as it came, and each reading of it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime
from enum import StrEnum
from typing import Any

from artwork.intake import Wishes
from service.orders.order import Trouble


@dataclass(frozen=True)
class Artwork:
    """One file of an order, kept byte for byte.

    Attributes:
        sha256: names the blob that holds the original bytes.
        name: the sender's file name, shown but never used as a path.
        size: bytes.
    """

    id: str
    order_id: str
    sha256: str
    name: str
    content_type: str
    size: int
    uploaded_at: datetime


class ReadingState(StrEnum):
    """How far one reading is."""

    WAITING = "waiting"
    READ = "read"
    REFUSED = "refused"


@dataclass(frozen=True)
class StoredReading:
    """What the engine made of one artwork under one set of wishes.

    Attributes:
        outline, picture: SHA-256 of the packed outline and of the PNG of what was read; ``None`` until read.
        kind: ``"traced"`` or ``"vector"``.
        report: remarks, inks and counts as plain JSON values (``artwork.jsonable``).
        trouble: why it was refused.
    """

    id: str
    artwork_id: str
    order_id: str
    wishes: Wishes
    state: ReadingState
    outline: str | None = None
    picture: str | None = None
    kind: str | None = None
    format: str | None = None
    report: Mapping[str, Any] | None = None
    trouble: Trouble | None = None
