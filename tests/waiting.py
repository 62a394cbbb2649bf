"""Waiting for something to come to pass, as long as it takes on a busy machine."""

from __future__ import annotations

import time
from collections.abc import Callable


def until(met: Callable[[], bool], seconds: float = 150) -> None:
    """Look again and again until it is so; after ``seconds`` it is taken never to be."""
    end = time.monotonic() + seconds
    while not met():
        assert time.monotonic() < end, "it did not come to that"
        time.sleep(0.02)
