"""A form with a file is not read before it is known who sends it (OWASP File Upload Cheat Sheet: authorised users)."""

from __future__ import annotations

import asyncio
from typing import Any

import pytest

from tests.running import Running, placed_order

MARK = b"multipart/form-data; boundary=mark"


def sent_to(running: Running, path: str, *headers: tuple[bytes, bytes]) -> tuple[int, int]:
    """The status of a form whose bytes are only asked for, and how often they were asked for."""
    reads, told = 0, []

    async def receive() -> dict[str, Any]:
        nonlocal reads
        reads += 1
        return {"type": "http.disconnect"}

    async def send(message: dict[str, Any]) -> None:
        told.append(message)

    host = running.url.removeprefix("http://").encode()
    named = [(b"host", host), (b"content-type", MARK), (b"sec-fetch-site", b"same-origin"), *headers]
    scope = {
        "type": "http", "asgi": {"version": "3.0"}, "http_version": "1.1", "method": "POST", "scheme": "http",
        "path": path, "raw_path": path.encode(), "query_string": b"", "root_path": "", "headers": named,
        "client": ("127.0.0.1", 1), "server": ("127.0.0.1", 80), "state": {},
    }  # fmt: skip
    asyncio.run(running.service.app(scope, receive, send))
    return next(message["status"] for message in told if message["type"] == "http.response.start"), reads


@pytest.mark.parametrize("what", ["art", "lists"])
def test_a_strangers_form_is_refused_unread(running: Running, what: str):
    order, client = placed_order(running.url)
    client.close()
    assert sent_to(running, f"/order/{order['id']}/{what}") == (401, 0)


def test_at_the_bench_too(running: Running):
    status, reads = sent_to(running, "/bench/settings/models/longwalk-bench")
    assert (status in (303, 401), reads) == (True, 0)
