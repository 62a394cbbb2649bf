"""What a host gives each workshop of a place that serves several, and what of it is used."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass


@dataclass(frozen=True)
class Shares:
    """What each workshop may have; 0: any amount.

    Attributes:
        files: clients' files kept at once.
        size: of those, bytes.
        work_a_day: pieces of background work within 24 hours that are done in usual order; what is beyond is done too,
            one after another, behind everybody else's.
    """

    files: int = 0
    size: int = 0
    work_a_day: int = 0


@dataclass(frozen=True)
class Used:
    """What one workshop has of them now."""

    files: int
    size: int
    work: int


def fullest(shares: Shares, used: Used) -> float:
    """The part of the share that is used up most, 1 and more where there is none left; 0 where nothing is limited."""
    pairs = ((used.files, shares.files), (used.size, shares.size), (used.work, shares.work_a_day))
    return max((has / most for has, most in pairs if most), default=0.0)


def told(shares: Shares, used: Used) -> str:
    """What is used of each limited share, for people."""
    return ", ".join(_told(shares, used))


def _told(shares: Shares, used: Used) -> Iterator[str]:
    if shares.files:
        yield f"{used.files} of {shares.files} files"
    if shares.size:
        yield f"{used.size / 1e6:.0f} of {shares.size / 1e6:.0f} MB of files"
    if shares.work_a_day:
        yield f"{used.work} of {shares.work_a_day} pieces of work in the last 24 hours"
