"""A place for files that hangs or is away holds up nobody, and is used again once it answers."""

from __future__ import annotations

import threading
from concurrent.futures import ThreadPoolExecutor

import pytest

from service.store import breaker
from service.store.blobs import BlobMissingError, BlobsAwayError, FolderBlobs
from service.store.breaker import PLACES, GuardedBlobs
from tests.waiting import until


class Source(FolderBlobs):
    """A folder that can be made to hang, or to be away."""

    def __init__(self, root):
        super().__init__(root)
        self.goes_on = threading.Event()
        self.goes_on.set()
        self.is_there = True
        self.asked = 0
        self.hanging = 0

    def there(self):
        self.asked += 1
        return self.is_there

    def part(self, digest, start, length):
        if not self.is_there and self.goes_on.is_set():
            raise BlobsAwayError("connection refused")
        if not self.goes_on.is_set():
            self.hanging += 1
            self.goes_on.wait(60)
            raise BlobsAwayError("no answer")
        return super().part(digest, start, length)


@pytest.fixture(autouse=True)
def _quick(monkeypatch):
    monkeypatch.setattr(breaker, "PROBE_SECONDS", 0.02)
    monkeypatch.setattr(breaker, "SILENCE_WHEN_FULL_SECONDS", 0.02)


@pytest.fixture
def source(tmp_path):
    return Source(tmp_path / "blobs")


@pytest.fixture
def guarded(source):
    guarded = GuardedBlobs(source)
    yield guarded
    guarded.close()


def test_readers_of_a_place_that_hangs_are_refused_before_it_answers(source, guarded):
    digest = guarded.put(b"a picture")
    source.goes_on.clear()
    source.is_there = False
    with ThreadPoolExecutor(24) as readers:
        asked = [readers.submit(guarded.get, digest) for _ in range(24)]
        until(lambda: guarded.away)
        until(lambda: sum(each.done() for each in asked) == 24 - PLACES)
        assert source.hanging == PLACES, "no more than that wait for it"
        with pytest.raises(BlobsAwayError):
            guarded.size(digest)  # without asking it
        assert source.hanging == PLACES
        source.goes_on.set()
        assert all(isinstance(each.exception(), BlobsAwayError) for each in asked)
    source.is_there = True
    until(lambda: not guarded.away)
    assert guarded.get(digest) == b"a picture"


def test_one_failure_is_looked_into_and_refuses_nobody_where_the_place_is_there(source, guarded, monkeypatch):
    def full(_data):
        raise BlobsAwayError("no space left on device")

    digest = guarded.put(b"kept before")
    monkeypatch.setattr(source, "put", full)
    with pytest.raises(BlobsAwayError, match="no space"):
        guarded.put(b"more")
    until(lambda: source.asked == 1)
    assert guarded.get(digest) == b"kept before"


def test_what_is_not_there_is_an_answer(source, guarded):
    with pytest.raises(BlobMissingError):
        guarded.get("0" * 64)
    assert source.asked == 0
    assert not guarded.away
