"""What is on its way out, and how it is told: it answers as ever for a year, and names what to call instead."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import UTC, date, datetime, timedelta
from email.utils import format_datetime
from urllib.parse import quote

LEAST = timedelta(days=365)
"""Between the day from which something is called deprecated and the first on which it may be gone."""


@dataclass(frozen=True)
class Deprecated:
    """One operation that is on its way out.

    Attributes:
        since, until: the day from which it is called so, and the first on which it may be gone (UTC).
        instead: address of what does the same, below ``/api/v1``.
        words: what to do, in a sentence.
    """

    since: date
    until: date
    instead: str
    words: str

    @property
    def headers(self) -> dict[str, str]:
        """``Deprecation`` (RFC 9745 §2.1) and ``Sunset`` (RFC 8594 §3)."""
        return {
            "Deprecation": f"@{_midnight(self.since).timestamp():.0f}",
            "Sunset": format_datetime(_midnight(self.until), usegmt=True),
        }

    def links(self, path: Mapping[str, str]) -> tuple[str, ...]:
        """Links to what takes its place (RFC 5829 §3.3) and to the words about it (RFC 9745 §3).

        ``path``: the parameters of the address that was called.
        """
        instead = self.instead.format(**{name: quote(part, safe="") for name, part in path.items()})
        return (
            f'</api/v1{instead}>; rel="successor-version"',
            '</reference/changes>; rel="deprecation"; type="text/html"',
        )


def _midnight(day: date) -> datetime:
    return datetime(day.year, day.month, day.day, tzinfo=UTC)
