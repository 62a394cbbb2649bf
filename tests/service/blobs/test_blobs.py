"""Files by digest: what is kept stays as it is, in a folder and in a bucket."""

from __future__ import annotations

import hashlib
import os
from datetime import UTC, datetime, timedelta

import pytest

from service.store.blobs import (
    BlobDamagedError,
    BlobMissingError,
    BlobsAwayError,
    FolderBlobs,
    pieces,
    state_of,
)

EMPTY = hashlib.sha256(b"").hexdigest()


@pytest.fixture
def blobs(tmp_path):
    return FolderBlobs(tmp_path / "blobs")


def kept_files(folder):
    return sorted(p.relative_to(folder).as_posix() for p in folder.rglob("*") if p.is_file())


def test_the_key_is_the_sha256_of_the_bytes(blobs):
    # FIPS 180-4 example: SHA-256 of "abc".
    digest = blobs.put(b"abc")
    assert digest == "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad"
    assert (blobs.get(digest), blobs.size(digest)) == (b"abc", 3)


def test_parts_and_whole_give_the_same_key(blobs):
    data = os.urandom(700_000)
    assert blobs.put(data[i : i + 1000] for i in range(0, len(data), 1000)) == blobs.put(data)
    digest = hashlib.sha256(data).hexdigest()
    assert b"".join(pieces(blobs, digest, 5, 600_001)) == data[5:600_001]
    assert blobs.part(digest, 699_990, 100) == data[699_990:]


def test_keeping_twice_changes_nothing(blobs, tmp_path):
    blobs.put(b"once")
    before = kept_files(tmp_path)
    blobs.put(b"once")
    assert kept_files(tmp_path) == before


def test_a_source_that_fails_leaves_nothing(blobs, tmp_path):
    def broken():
        yield b"some"
        raise ConnectionResetError

    with pytest.raises((ConnectionResetError, BlobsAwayError)):
        blobs.put(broken())
    assert kept_files(tmp_path) == []


@pytest.mark.parametrize("name", ["", "../../etc/passwd", "A" * 64, "0" * 63, "0" * 64 + "/", f"{EMPTY}\n"])
def test_names_that_are_no_digest_find_nothing(blobs, name):
    assert blobs.size(name) is None
    with pytest.raises(BlobMissingError):
        blobs.get(name)


def test_damage_is_noticed_on_a_whole_read_and_by_the_scrub(blobs, tmp_path):
    good, bad = blobs.put(b"good"), blobs.put(b"bad")
    path = tmp_path / "blobs" / bad[:2] / bad
    path.write_bytes(b"worse")
    with pytest.raises(BlobDamagedError):
        blobs.get(bad)
    assert [state_of(blobs, each) for each in (good, bad, EMPTY)] == [None, "damaged", "missing"]


def test_what_a_crash_left_half_written_is_cleared(blobs, tmp_path):
    (tmp_path / "blobs" / "incoming" / "half").write_bytes(b"hal")
    assert blobs.clear_incoming(timedelta(hours=1), datetime.now(UTC)) == 0
    assert blobs.clear_incoming(timedelta(hours=1), datetime.now(UTC) + timedelta(hours=2)) == 1
    assert list(blobs.entries()) == []


def test_a_folder_that_takes_no_more_says_so(blobs, monkeypatch):
    def full(_handle):
        raise OSError(28, "No space left on device")

    monkeypatch.setattr("service.store.blobs.os.fsync", full)
    with pytest.raises(BlobsAwayError, match="No space"):
        blobs.put(b"anything")
    assert list(blobs.entries()) == []
