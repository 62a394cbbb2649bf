"""What is to be done now and then so that a workshop's data stays well."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from enum import StrEnum


class Chore(StrEnum):
    """One kind of upkeep."""

    ASKED = "asked"
    """Housekeeping was asked for; the work itself is :attr:`HOUSEKEEPING`."""
    ENGINE = "engine"
    """The background engine's own tables were brought up to the version that the words name."""
    HOUSEKEEPING = "housekeeping"
    BACKUP = "backup"
    SCRUB = "scrub"


@dataclass(frozen=True)
class Done:
    """The last time a chore was done.

    Attributes:
        well: whether it went well.
        words: what was done, or what went wrong, for people.
    """

    what: Chore
    at: datetime
    well: bool
    words: str = ""
