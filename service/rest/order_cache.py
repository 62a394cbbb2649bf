"""Bodies of orders as they were last given, good for as long as nothing within the order changes.

Every change to anything within an order raises its activity, so a body is good for one activity. Asking who asks and
what the activity is now is never left out.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from threading import Lock

from cachetools import LRUCache

MOST_BYTES = 32 * 1024 * 1024
MOST_BRIEFS = 5000
"""About a kilobyte each."""
LARGEST_SHARE = 8
"""A body larger than this part of the whole is not kept: one order must not push out all others."""


@dataclass(frozen=True)
class CachedOrder:
    """One order's body.

    Attributes:
        activity, revision: of the order that it shows.
        body: JSON.
        tag: its entity tag.
    """

    activity: int
    revision: int
    body: bytes
    tag: str


class OrderCache:
    """The latest body of each order, the longest unasked dropped first."""

    def __init__(self, most_bytes: int = MOST_BYTES) -> None:
        self._largest = most_bytes // LARGEST_SHARE
        self._kept: LRUCache[str, CachedOrder] = LRUCache(most_bytes, getsizeof=lambda kept: len(kept.body))
        self._briefs: LRUCache[str, tuple[int, bytes]] = LRUCache(MOST_BRIEFS)
        self._lock = Lock()

    def get(self, order_id: str, activity: int) -> CachedOrder | None:
        """The body of an order whose activity this is now."""
        with self._lock:
            found = self._kept.get(order_id)
            if found is not None and found.activity != activity:
                del self._kept[order_id]
                return None
            return found

    def put(self, order_id: str, fresh: CachedOrder) -> None:
        """Keep a body just made."""
        with self._lock:
            self._kept.pop(order_id, None)
            if len(fresh.body) <= self._largest:
                self._kept[order_id] = fresh

    def briefs(self, orders: Iterable[tuple[str, int]]) -> list[bytes | None]:
        """How each of some orders, named with its activity now, stands in a list, as JSON."""
        with self._lock:
            found = [(activity, self._briefs.get(order_id)) for order_id, activity in orders]
        return [brief[1] if brief is not None and brief[0] == activity else None for activity, brief in found]

    def put_brief(self, order_id: str, activity: int, brief: bytes) -> None:
        """Keep how an order stands in a list."""
        with self._lock:
            self._briefs[order_id] = activity, brief

    def forget(self, order_id: str) -> None:
        """Drop what is kept of an order at once: its client asked to be forgotten."""
        with self._lock:
            self._kept.pop(order_id, None)
            self._briefs.pop(order_id, None)
