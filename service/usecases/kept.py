"""What was worked out lately, kept by all that it depends on: asked for again, it is not worked out again."""

from __future__ import annotations

from collections import OrderedDict
from collections.abc import Hashable
from threading import Lock
from typing import Generic, TypeVar

T = TypeVar("T")


class Kept(Generic[T]):
    """The ``most`` values last asked for, of this process."""

    def __init__(self, most: int) -> None:
        self._most = most
        self._kept: OrderedDict[Hashable, T] = OrderedDict()
        self._lock = Lock()

    def get(self, of_what: Hashable) -> T | None:
        """The value, if it is still kept."""
        with self._lock:
            if of_what in self._kept:
                self._kept.move_to_end(of_what)
            return self._kept.get(of_what)

    def put(self, of_what: Hashable, value: T) -> None:
        """Keep one more, and let go of the one not asked for the longest."""
        with self._lock:
            self._kept[of_what] = value
            if len(self._kept) > self._most:
                self._kept.popitem(last=False)
