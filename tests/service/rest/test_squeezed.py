"""Bytes made on the spot are sent smaller to whoever takes that (RFC 9110 §12.5.3), and are the same bytes."""

from __future__ import annotations

import brotli
import pytest
from starlette.datastructures import Headers

from service.rest.files import serve_bytes
from service.rest.operation import Bytes

SOLID = Bytes(b"glTF" + bytes(range(256)) * 40, "model/gltf-binary", "proof.glb", lasting=True)
PICTURE = Bytes(SOLID.data, "image/webp", "proof.webp")


def sent(made: Bytes, **headers: str):
    return serve_bytes(made, Headers({name.replace("_", "-"): value for name, value in headers.items()}))


@pytest.mark.parametrize("accepted", ["br", "gzip, deflate, br", "gzip;q=1.0, BR ; q=0.5"])
def test_a_solid_is_squeezed_for_whoever_takes_it(accepted):
    answer = sent(SOLID, accept_encoding=accepted)
    assert answer.headers["content-encoding"] == "br"
    assert "Accept-Encoding" in answer.headers["vary"]
    assert len(answer.body) < len(SOLID.data) / 2
    assert brotli.decompress(answer.body) == SOLID.data


@pytest.mark.parametrize("accepted", ["", "gzip", "br;q=0", "br; q=0.000, gzip", "brotli"])
def test_nobody_gets_a_coding_they_did_not_ask_for(accepted):
    answer = sent(SOLID, accept_encoding=accepted)
    assert "content-encoding" not in answer.headers
    assert "Accept-Encoding" in answer.headers["vary"]  # a cache in between must know
    assert answer.body == SOLID.data


def test_what_is_squeezed_already_is_left_alone():
    answer = sent(PICTURE, accept_encoding="br")
    assert "content-encoding" not in answer.headers and answer.body == PICTURE.data


def test_a_kept_one_is_not_sent_again_and_not_taken_for_the_other_coding():
    squeezed, plain = sent(SOLID, accept_encoding="br"), sent(SOLID)
    assert squeezed.headers["etag"] != plain.headers["etag"]
    assert sent(SOLID, accept_encoding="br", if_none_match=squeezed.headers["etag"]).status_code == 304
    assert sent(SOLID, accept_encoding="br", if_none_match=plain.headers["etag"]).status_code == 200
