"""A place for files that is away for a while does not end a command that takes an hour."""

from __future__ import annotations

import time
from collections.abc import Callable
from typing import TypeVar

from service.store.blobs import BlobsAwayError

T = TypeVar("T")

PATIENCE_SECONDS = 120.0
"""How long one file is tried again while its place is away: a restart of a storage service, and then some."""
PAUSE_SECONDS = 1.0


def patiently(
    call: Callable[[], T],
    *,
    sleep: Callable[[float], None] = time.sleep,
    clock: Callable[[], float] = time.monotonic,
) -> T:
    """What the call gives, tried again while files are away. BlobsAwayError once patience has run out.

    A disk that is full or cannot be written to stays so: that is said at once.

    Args:
        call: may be made again after it failed.
        sleep: waits so many seconds.
        clock: monotonic seconds.
    """
    end = clock() + PATIENCE_SECONDS
    while True:
        try:
            return call()
        except BlobsAwayError as away:
            if isinstance(away.__cause__, OSError) or clock() >= end:
                raise
        sleep(PAUSE_SECONDS)
