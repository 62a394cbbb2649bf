"""Files over HTTP: conditional requests (RFC 9110 §13) and parts of them (§14), for each kind of file there is."""

from __future__ import annotations

import hashlib

import pytest

from tests.access.cast import Cast
from tests.running import API

FILES = ("original", "reading", "picture", "batch")


@pytest.fixture(params=FILES)
def address(request, cast: Cast) -> str:
    things = cast.things
    return (
        API
        + {
            "original": f"/artworks/{things.carving['artwork_id']}/original",
            "reading": f"/readings/{things.carving['reading']['id']}/picture",
            "picture": f"/proofs/{things.carving['proof']['id']}/picture",
            "batch": f"/batches/{things.batch}/archive",
        }[request.param]
    )


def test_it_is_not_sent_twice_to_whoever_has_it(cast: Cast, address):
    maker = cast.callers["maker"]
    whole = maker.get(address)
    tag = whole.headers["etag"]
    assert whole.status_code == 200 and not tag.startswith("W/")
    again = maker.get(address, headers={"If-None-Match": tag})
    assert (again.status_code, again.content, again.headers["etag"]) == (304, b"", tag)
    other = maker.get(address, headers={"If-None-Match": '"another"'})
    assert (other.status_code, other.content) == (200, whole.content)


def test_it_is_fetched_in_parts_that_make_up_the_whole(cast: Cast, address):
    """Parts are of the plain body, by its tag: a body in a coding has another one."""
    maker = cast.callers["maker"]
    whole = maker.get(address, headers={"Accept-Encoding": "identity"})
    size, tag = len(whole.content), whole.headers["etag"]
    assert whole.headers["accept-ranges"] == "bytes"
    half = size // 2
    parts = b""
    for span, told in ((f"0-{half - 1}", f"0-{half - 1}"), (f"{half}-", f"{half}-{size - 1}")):
        part = maker.get(address, headers={"Range": f"bytes={span}", "If-Range": tag})
        assert (part.status_code, part.headers["content-range"]) == (206, f"bytes {told}/{size}")
        assert int(part.headers["content-length"]) == len(part.content)
        parts += part.content
    assert hashlib.sha256(parts).digest() == hashlib.sha256(whole.content).digest()
    end = maker.get(address, headers={"Range": "bytes=-7"})
    assert (end.status_code, end.content) == (206, whole.content[-7:])


def test_a_part_of_what_it_no_longer_is_is_not_given(cast: Cast, address):
    whole = cast.callers["maker"].get(address, headers={"Range": "bytes=0-9", "If-Range": '"another"'})
    assert whole.status_code == 200 and len(whole.content) > 10


def test_a_part_beyond_its_end_is_refused_as_documented(cast: Cast, address):
    maker = cast.callers["maker"]
    size = len(maker.get(address).content)
    refused = maker.get(address, headers={"Range": f"bytes={size}-"})
    assert (refused.status_code, refused.json()["type"]) == (416, "/problems/range-not-satisfiable")
    assert refused.headers["content-range"] == f"bytes */{size}"


def test_strangers_learn_nothing_by_asking_for_parts(cast: Cast, address):
    stranger, other = cast.callers["stranger"], cast.callers["foreign-client"]
    tag = cast.callers["maker"].get(address).headers["etag"]
    for headers in ({"Range": "bytes=0-0"}, {"If-None-Match": tag}):
        assert stranger.get(address, headers=headers).status_code == 401
        assert other.get(address, headers=headers).status_code in (403, 404)
