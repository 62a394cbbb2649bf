"""What a crowd heard: answers and waits by what was asked, requests told to come back, those without an answer."""

from __future__ import annotations

import statistics
from collections import Counter
from dataclasses import dataclass, field
from typing import Any

import httpx2

LONGEST_PAUSE = 5.0


@dataclass
class Heard:
    """Answers of all clients.

    Attributes:
        seconds: of good answers, by what was asked.
        waits: seconds until what was asked for in the background was seen to be there: a proof, an archive.
        refused: 429 and 503, each with ``Retry-After``; ``bare`` without it.
        wrong: any other status, and why.
        lost: requests without an answer, by what was asked and what happened instead.
    """

    seconds: dict[str, list[float]] = field(default_factory=dict)
    waits: dict[str, list[float]] = field(default_factory=dict)
    refused: Counter[int] = field(default_factory=Counter)
    bare: int = 0
    wrong: Counter[str] = field(default_factory=Counter)
    lost: Counter[str] = field(default_factory=Counter)

    def take_in(self, what: str, answer: httpx2.Response, seconds: float) -> float:
        """Note one answer; how long to pause before the next request, as far as it says."""
        if answer.status_code in (429, 503):
            self.refused[answer.status_code] += 1
            after = answer.headers.get("retry-after")
            self.bare += after is None
            return min(float(after or 1), LONGEST_PAUSE)
        if answer.is_success or answer.status_code == 304:
            self.seconds.setdefault(what, []).append(seconds)
        else:
            self.wrong[f"{what}: {answer.status_code} {answer.json().get('type', '')}"] += 1
        return 0.0

    def told(self, seconds: float) -> dict[str, Any]:
        """Throughput, and waits in milliseconds, of a crowd that went on for so long."""
        every = [each for waits in self.seconds.values() for each in waits]
        return {
            "answers_per_second": round(len(every) / seconds, 1),
            "all": percentiles(every),
            "by_what": _by_what(self.seconds),
            "waits": _by_what(self.waits),
            "told_to_come_back": {str(status): count for status, count in sorted(self.refused.items())},
            "without_retry_after": self.bare,
            "wrong": dict(self.wrong),
            "lost": dict(self.lost),
        }


def percentiles(waits: list[float]) -> dict[str, int]:
    """50th, 95th and 99th, milliseconds."""
    if len(waits) < 2:
        return {}
    cuts = statistics.quantiles(waits, n=100, method="inclusive")
    return {f"p{at}": round(cuts[at - 1] * 1000) for at in (50, 95, 99)}


def _by_what(seconds: dict[str, list[float]]) -> dict[str, dict[str, int]]:
    return {what: {"n": len(waits)} | percentiles(waits) for what, waits in sorted(seconds.items())}
