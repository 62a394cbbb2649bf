"""A place for files that may hang or be away, so that nothing else does for it.

Calls to it have a limited number of places. Where it does not answer, or too many wait for it, one small question
is put to it: while that has no answer every call is refused at once (``BlobsAwayError``), and the question is put
again and again until it is answered. So whoever reads or decides without files never waits for them, and all that
needs them goes on by itself within a second or two of their return.
"""

from __future__ import annotations

import logging
import threading
import time
from collections.abc import Callable, Iterable, Iterator
from contextlib import contextmanager
from datetime import datetime, timedelta
from typing import Protocol

from service.store.blobs import BlobDamagedError, BlobEntry, BlobMissingError, Blobs, BlobsAwayError

PLACES = 8
"""Calls under way at once: half of the threads that requests are worked on with."""
SILENCE_SECONDS = 2.0
"""How long one call may be under way, and none be answered, before the place is asked whether it is there."""
SILENCE_WHEN_FULL_SECONDS = 0.25
"""The same, where every place is taken."""
WAIT_SECONDS = 5.0
"""Longest wait for a place while the others' calls are answered."""
PROBE_SECONDS = 1.0
"""Between two questions to a place that is away."""
log = logging.getLogger("slatproof.store")


class Source(Blobs, Protocol):
    """A place for files that can be asked whether it is there."""

    def there(self) -> bool:
        """Whether it answers, found out within a second or two."""


class GuardedBlobs:
    """``Blobs`` that refuse at once while their source is away."""

    def __init__(
        self, source: Source, places: int = PLACES, clock: Callable[[], float] = time.monotonic
    ) -> None:
        self._source = source
        self._places = places
        self._clock = clock
        self._state = threading.Condition()
        self._under_way: dict[object, float] = {}
        self._heard = clock()
        self._asking = False
        self._away = False
        self._closed = threading.Event()

    @property
    def away(self) -> bool:
        """Whether it was found to be away and has not come back."""
        return self._away

    def put(self, data: bytes | Iterable[bytes]) -> str:
        """See Blobs."""
        with self._call():
            return self._source.put(data)

    def get(self, digest: str) -> bytes:
        """See Blobs."""
        with self._call():
            return self._source.get(digest)

    def part(self, digest: str, start: int, length: int) -> bytes:
        """See Blobs."""
        with self._call():
            return self._source.part(digest, start, length)

    def size(self, digest: str) -> int | None:
        """See Blobs."""
        with self._call():
            return self._source.size(digest)

    def delete(self, digest: str) -> None:
        """See Blobs."""
        with self._call():
            self._source.delete(digest)

    def entries(self) -> Iterator[BlobEntry]:
        """See Blobs; a listing takes no place, for it goes on while others do what it finds."""
        self._refuse_if_away()
        return self._source.entries()

    def clear_incoming(self, older_than: timedelta, now: datetime) -> int:
        """See Blobs."""
        with self._call():
            return self._source.clear_incoming(older_than, now)

    def close(self) -> None:
        """Ask no more."""
        self._closed.set()

    @contextmanager
    def _call(self) -> Iterator[None]:
        mine = object()
        self._take(mine)
        failed = True
        try:
            yield
            failed = False
        except (BlobMissingError, BlobDamagedError):
            failed = False  # it answered
            raise
        except BlobsAwayError:
            self._ask()
            raise
        finally:
            with self._state:
                del self._under_way[mine]
                if not failed:
                    self._heard = self._clock()
                self._state.notify()

    def _take(self, mine: object) -> None:
        end = self._clock() + WAIT_SECONDS
        with self._state:
            while True:
                self._refuse_if_away()
                full = len(self._under_way) >= self._places
                if self._silent_for() > (SILENCE_WHEN_FULL_SECONDS if full else SILENCE_SECONDS):
                    self._ask()
                if not full:
                    self._under_way[mine] = self._clock()
                    return
                if self._clock() >= end:
                    raise BlobsAwayError("too many wait for files")
                self._state.wait(SILENCE_WHEN_FULL_SECONDS)

    def _silent_for(self) -> float:
        oldest = min(self._under_way.values(), default=None)
        return 0.0 if oldest is None else self._clock() - max(oldest, self._heard)

    def _refuse_if_away(self) -> None:
        if self._away:
            raise BlobsAwayError("files are away")

    def _ask(self) -> None:
        """Find out, beside everybody, whether the source is there; until it is, where it is not."""
        with self._state:
            if self._asking:
                return
            self._asking = True
        threading.Thread(target=self._ask_until_there, name="files-probe", daemon=True).start()

    def _ask_until_there(self) -> None:
        while not self._source.there():
            if not self._away:
                log.warning("files are away: whatever needs them is refused until they answer")
            with self._state:
                self._away = True
                self._state.notify_all()
            if self._closed.wait(PROBE_SECONDS):
                break
        if self._away:
            log.warning("files are back")
        with self._state:
            self._away, self._asking, self._heard = False, False, self._clock()
            self._state.notify_all()
