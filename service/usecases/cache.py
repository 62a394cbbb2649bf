"""What was worked out lately, kept by all that it depends on: asked for again, it is not worked out again."""

from __future__ import annotations

from collections.abc import Hashable
from threading import Lock
from typing import Generic, TypeVar

from cachetools import LRUCache

T = TypeVar("T")


class Cache(Generic[T]):
    """The ``most`` values last asked for, of this process; several threads may ask."""

    def __init__(self, most: int) -> None:
        self._kept: LRUCache[Hashable, T] = LRUCache(most)
        self._lock = Lock()

    def get(self, of_what: Hashable) -> T | None:
        """The value, if it is still kept."""
        with self._lock:
            return self._kept.get(of_what)

    def put(self, of_what: Hashable, value: T) -> None:
        """Keep one more, and let go of the one not asked for the longest."""
        with self._lock:
            self._kept[of_what] = value
