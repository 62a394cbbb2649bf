"""Files in a bucket of a real S3 server, over a line that can be made slow, busy or dead."""

from __future__ import annotations

import hashlib
import os
from concurrent.futures import ThreadPoolExecutor
from datetime import UTC, datetime, timedelta

import pytest

from service.store.blobs import BlobDamagedError, BlobMissingError, BlobsAwayError, pieces, state_of
from service.store.bucket import open_bucket
from tests.parts.faulty_line import FaultyLine, Trouble
from tests.parts.object_store import BUCKET, KEY_ID, REGION, SECRET, ObjectStore, bucket

pytestmark = pytest.mark.s3


@pytest.fixture(scope="module")
def server(tmp_path_factory):
    server = ObjectStore(tmp_path_factory.mktemp("s3"))
    server.start()
    yield server
    server.part.kill()


@pytest.fixture
def line(server):
    line = FaultyLine(server.port)
    yield line
    line.close()


PATIENT, HASTY = 60.0, 1.0
"""Seconds: with a server that is only slow on a busy machine, and with one that is known to give no answer."""


def opened(url, seconds=PATIENT, secret=SECRET, name=BUCKET):
    short = timedelta(seconds=seconds)
    return open_bucket(
        name, endpoint=url, region=REGION, key_id=KEY_ID, secret=secret, within=short, again=short
    )


@pytest.fixture
def blobs(line):
    return opened(line.url)


def test_what_is_kept_comes_back_whole_and_in_parts(blobs):
    data = os.urandom(1_500_000)
    digest = blobs.put(data[i : i + 65_536] for i in range(0, len(data), 65_536))
    assert digest == hashlib.sha256(data).hexdigest()
    assert blobs.get(digest) == data
    assert blobs.size(digest) == len(data)
    assert blobs.part(digest, 700_000, 10) == data[700_000:700_010]
    assert blobs.part(digest, len(data) - 5, 100) == data[-5:]
    assert b"".join(pieces(blobs, digest, 3, 1_400_001)) == data[3:1_400_001]


def test_a_second_create_leaves_the_first_alone(blobs, server):
    digest = blobs.put(b"kept once")
    before = bucket(server.url).head(f"blobs/{digest[:2]}/{digest}")["last_modified"]
    assert blobs.put(b"kept once") == digest
    assert bucket(server.url).head(f"blobs/{digest[:2]}/{digest}")["last_modified"] == before


def test_many_who_keep_the_same_file_at_once_all_succeed(server):
    blobs = opened(server.url)
    data = os.urandom(200_000)
    with ThreadPoolExecutor(8) as threads:
        found = set(threads.map(lambda _: blobs.put(data), range(16)))
    assert found == {hashlib.sha256(data).hexdigest()}
    assert blobs.get(found.pop()) == data


def test_what_is_missing_and_what_is_damaged_is_told_apart(blobs, server):
    good, bad = blobs.put(os.urandom(100)), blobs.put(os.urandom(101))
    absent = "0" * 64
    bucket(server.url).put(f"blobs/{bad[:2]}/{bad}", b"something else")
    assert blobs.size(absent) is None
    with pytest.raises(BlobMissingError):
        blobs.get(absent)
    with pytest.raises(BlobMissingError):
        blobs.part(absent, 0, 1)
    with pytest.raises(BlobMissingError):
        blobs.get("../identities.json")
    with pytest.raises(BlobDamagedError):
        blobs.get(bad)
    assert [state_of(blobs, each) for each in (good, bad, absent)] == [None, "damaged", "missing"]


def test_listing_and_deleting(blobs):
    digest = blobs.put(os.urandom(77))
    entry = next(each for each in blobs.entries() if each.digest == digest)
    assert entry.size == 77
    assert abs(datetime.now(UTC) - entry.kept_at) < timedelta(minutes=1)
    blobs.delete(digest)
    blobs.delete(digest)
    assert blobs.size(digest) is None
    assert digest not in {each.digest for each in blobs.entries()}
    assert blobs.clear_incoming(timedelta(0), datetime.now(UTC)) == 0


@pytest.mark.parametrize("trouble", [Trouble.BUSY, Trouble.DEAD])
def test_a_store_that_is_away_says_so_and_comes_back(blobs, line, trouble):
    digest, hasty = blobs.put(os.urandom(1000)), opened(line.url, HASTY)
    line.trouble = trouble
    calls = [
        lambda: hasty.put(b"while it is away"),
        lambda: hasty.get(digest),
        lambda: hasty.part(digest, 0, 1),
        lambda: hasty.size(digest),
        lambda: hasty.delete(digest),
        lambda: list(hasty.entries()),
    ]
    with ThreadPoolExecutor(len(calls)) as threads:
        for answer in [threads.submit(call) for call in calls]:
            with pytest.raises(BlobsAwayError):
                answer.result()
    line.trouble = Trouble.NONE
    assert blobs.size(digest) == 1000


def test_a_create_whose_answer_was_lost_is_done_again_without_harm(blobs, line):
    line.trouble = Trouble.LATE
    with pytest.raises(BlobsAwayError):
        opened(line.url, HASTY).put(b"the answer never came")
    line.trouble = Trouble.NONE
    assert blobs.get(blobs.put(b"the answer never came")) == b"the answer never came"


def test_a_slow_store_is_waited_for_and_a_very_slow_one_is_not(server):
    line = FaultyLine(server.port, hold_up=0.4)
    line.trouble = Trouble.SLOW
    patient, hasty = opened(line.url), opened(line.url, 0.3)
    assert patient.get(patient.put(b"slowly")) == b"slowly"
    with pytest.raises(BlobsAwayError):
        hasty.put(b"not so slowly")
    line.close()


def test_a_wrong_secret_and_a_wrong_bucket_keep_nothing(server):
    for wrong in (opened(server.url, secret="guessed"), opened(server.url, name="elsewhere", secret="x")):
        with pytest.raises(BlobsAwayError):
            wrong.put(b"anything")
