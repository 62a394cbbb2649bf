"""What stands before both doors."""

from __future__ import annotations

import logging

import anyio
import pytest

from service.shields import Shields

SCOPE = {"type": "http", "method": "GET", "headers": []}


async def _plain(scope: object, receive: object, send: object) -> None:
    await send({"type": "http.response.start", "status": 200, "headers": []})  # type: ignore[operator]
    await send({"type": "http.response.body", "body": b""})  # type: ignore[operator]


def logged(path: str, caplog: pytest.LogCaptureFixture) -> str:
    async def ask() -> None:
        async def sent(_message: object) -> None: ...

        await Shields(_plain, at_once=4, secure=False)(dict(SCOPE, path=path), sent, sent)  # type: ignore[arg-type]

    with caplog.at_level(logging.INFO, "slatproof.request"):
        anyio.run(ask)
    return caplog.messages[-1]


@pytest.mark.parametrize("page", ["link", "password"])
def test_the_secret_of_a_link_is_not_logged(page: str, caplog: pytest.LogCaptureFixture) -> None:
    line = logged(f"/{page}/splink_verysecret", caplog)
    assert "secret" not in line
    assert f"/{page}/…" in line


def test_other_paths_are_logged_as_they_are(caplog: pytest.LogCaptureFixture) -> None:
    assert "/api/v1/orders/abc 200" in logged("/api/v1/orders/abc", caplog)
