"""Waiting for something to come to pass, as long as it takes on a busy machine."""

from __future__ import annotations

import time
from collections.abc import Callable, Iterator

_FIRST, _GROWTH, _LONGEST = 0.02, 1.2, 0.25


def looks(seconds: float = 150) -> Iterator[None]:
    """Moments to look in, farther apart the longer it lasts: whoever looks takes the processor from what is waited for.

    They end after ``seconds``.
    """
    end, wait = time.monotonic() + seconds, _FIRST
    while time.monotonic() < end:
        yield
        time.sleep(wait)
        wait = min(wait * _GROWTH, _LONGEST)


def until(met: Callable[[], bool], seconds: float = 150) -> None:
    """Look again and again until it is so; after ``seconds`` it is taken never to be."""
    assert any(met() for _ in looks(seconds)), "it did not come to that"
