"""What the demo prints: a step, how long it took, where to look."""

from __future__ import annotations

import sys
import threading
import time
from collections.abc import Iterator
from contextlib import contextmanager


class Teller:
    """Prints steps with their times and keeps the times."""

    def __init__(self) -> None:
        self.seconds: dict[str, float] = {}

    @contextmanager
    def step(self, name: str, words: str) -> Iterator[None]:
        """One step: its words at once, a dot for each second it goes on, then its time."""
        print(f"{len(self.seconds) + 1:>3}  {words}", end="", flush=True)
        ended = threading.Event()
        dots = threading.Thread(target=_dots, args=(ended,), daemon=True)
        start = time.perf_counter()
        dots.start()
        try:
            yield
        finally:
            ended.set()
            dots.join()
            self.seconds[name] = round(time.perf_counter() - start, 3)
            print(f"  ({self.seconds[name]:.2f} s)", flush=True)

    def say(self, words: str) -> None:
        """A line below the step before."""
        print(f"     {words}", flush=True)


def _dots(ended: threading.Event) -> None:
    while not ended.wait(1.0):
        sys.stdout.write(".")
        sys.stdout.flush()
