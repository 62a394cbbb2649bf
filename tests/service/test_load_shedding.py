"""What stands before both doors."""

from __future__ import annotations

import logging

import anyio
import pytest

from service.load_shedding import Crowd, LoadShedding

FEW = Crowd.of(4, 6, trusts_a_proxy=False)
SCOPE = {"type": "http", "method": "GET", "headers": []}


async def _plain(scope: object, receive: object, send: object) -> None:
    await send({"type": "http.response.start", "status": 200, "headers": []})  # type: ignore[operator]
    await send({"type": "http.response.body", "body": b""})  # type: ignore[operator]


def logged(path: str, caplog: pytest.LogCaptureFixture) -> str:
    async def ask() -> None:
        async def sent(_message: object) -> None: ...

        await LoadShedding(_plain, FEW, secure=False)(dict(SCOPE, path=path), sent, sent)  # type: ignore[arg-type]

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


def headers_of(*, secure: bool) -> dict[bytes, bytes]:
    told: list[dict[bytes, bytes]] = []

    async def ask() -> None:
        async def sent(message: dict[str, object]) -> None:
            if message["type"] == "http.response.start":
                told.append(dict(message["headers"]))  # type: ignore[call-overload]

        load_shedding = LoadShedding(_plain, FEW, secure=secure)
        await load_shedding(dict(SCOPE, path="/"), sent, sent)  # type: ignore[arg-type]

    anyio.run(ask)
    return told[0]


def test_by_tls_browsers_are_told_to_stay_with_it_for_a_year() -> None:
    """RFC 6797 §6.1; ASVS 5.0 V3.4.1 asks for a year and for sub-domains."""
    assert headers_of(secure=True)[b"strict-transport-security"] == b"max-age=31536000; includeSubDomains"
    assert b"strict-transport-security" not in headers_of(secure=False)
