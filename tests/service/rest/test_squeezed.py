"""Answers are sent smaller to whoever takes that, and are the same (RFC 9110 §8.4, §8.8.3.3, §12.5.3, §14.2)."""

from __future__ import annotations

import gzip

import anyio
import brotli
import httpx2
import pytest
from starlette.applications import Starlette
from starlette.requests import Request
from starlette.responses import Response, StreamingResponse
from starlette.routing import Route

from service.rest.conditional import expected_revision, unchanged
from service.squeezing import Squeezing

TEXT = b'{"kind": "land", "place": [1.5, 2.5]}' * 100
TAG = '"3.0123456789abcdef.0123456789ab"'


async def told(request: Request) -> Response:
    if unchanged(request.headers.get("if-none-match"), TAG):
        return Response(None, 304, headers={"ETag": TAG})
    if "if-match" in request.headers:
        return Response(str(expected_revision(request.headers["if-match"], None)))
    return Response(
        TEXT, headers={"ETag": TAG}, media_type=request.query_params.get("as", "application/json")
    )


async def stream(_request: Request) -> Response:
    return StreamingResponse(iter((b"data: 1\n\n" * 500, b"data: 2\n\n" * 500)), media_type="text/html")


APP = Squeezing(Starlette(routes=[Route("/", told), Route("/stream", stream)]))


@pytest.fixture
def sent():
    async def send(path: str = "/", **headers: str) -> tuple[httpx2.Response, bytes]:
        transport = httpx2.ASGITransport(APP)
        named = {name.replace("_", "-"): value for name, value in headers.items()}
        async with httpx2.AsyncClient(transport=transport, base_url="http://here") as client:
            asked = client.build_request("GET", path, headers={"accept-encoding": "", **named})
            answer = await client.send(asked, stream=True)
            return answer, b"".join([part async for part in answer.aiter_raw()])

    return lambda *a, **more: anyio.run(lambda: send(*a, **more))


@pytest.mark.parametrize(
    ("accepted", "coding", "back"),
    [
        ("br", "br", brotli.decompress),
        ("gzip, deflate, br", "br", brotli.decompress),
        ("gzip;q=1.0, BR ; q=0.5", "br", brotli.decompress),
        ("gzip, br;q=0", "gzip", gzip.decompress),
    ],
)
def test_whoever_takes_a_coding_gets_it_with_a_tag_of_its_own(sent, accepted, coding, back):
    answer, raw = sent(accept_encoding=accepted)
    assert answer.headers["content-encoding"] == coding and back(raw) == TEXT
    assert len(raw) < len(TEXT) / 4 and answer.headers["content-length"] == str(len(raw))
    assert answer.headers["etag"] == TAG[:-1] + f'.{coding}"' and answer.headers["vary"] == "Accept-Encoding"


@pytest.mark.parametrize("accepted", ["", "deflate", "br;q=0", "br; q=0.000, gzip;q=0", "brotli"])
def test_nobody_gets_a_coding_they_did_not_ask_for(sent, accepted):
    answer, raw = sent(accept_encoding=accepted)
    assert "content-encoding" not in answer.headers and raw == TEXT and answer.headers["etag"] == TAG
    assert answer.headers["vary"] == "Accept-Encoding"  # a cache in between must know


def test_pictures_and_what_comes_in_pieces_are_left_alone(sent):
    for path in ("/?as=image/webp", "/stream"):
        answer, raw = sent(path, accept_encoding="br")
        assert "content-encoding" not in answer.headers and raw


def test_a_tag_of_a_coding_is_understood_where_it_comes_back(sent):
    coded = TAG[:-1] + '.br"'
    for tag in (coded, TAG):
        answer, raw = sent(accept_encoding="br", if_none_match=tag)
        assert answer.status_code == 304 and not raw and answer.headers["etag"] == tag
    assert sent(if_match=coded)[1] == b"3"
