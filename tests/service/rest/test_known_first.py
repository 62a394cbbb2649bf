"""Who sends a large body is asked before its first byte is taken in."""

from __future__ import annotations

import socket
from datetime import timedelta
from urllib.parse import urlsplit

import pytest
from sqlalchemy.exc import OperationalError

from tests.running import Running


def answer_to_head(running: Running, method: str, path: str, token: str | None, kind: str) -> bytes:
    """What is said to a head whose body never comes."""
    host = urlsplit(running.url)
    head = f"{method} /api/v1{path} HTTP/1.1\r\nHost: {host.netloc}\r\nContent-Length: 1000000\r\n"
    head += f"Content-Type: {kind}\r\n" + (f"Authorization: Bearer {token}\r\n" if token else "")
    with socket.create_connection((host.hostname, host.port), timeout=20) as connection:
        connection.sendall(f"{head}\r\n".encode())
        return connection.recv(100).partition(b"\r\n")[0]


@pytest.mark.parametrize(
    ("method", "path", "kind"),
    [
        ("POST", "/orders/{order}/artworks", "image/png"),
        ("POST", "/orders/{order}/artworks", "multipart/form-data; boundary=a"),
        ("POST", "/settings/slat-drawings", "image/svg+xml"),
        ("PUT", "/settings/models/longwalk-bench", "application/json"),
        ("PUT", "/orders/{order}/names", "application/json"),
    ],
)
def test_strangers_bodies_are_not_waited_for(running: Running, method, path, kind):
    order = running.caller().send_order()["order"]["id"]
    other = running.caller().send_order()["link_token"]
    path = path.format(order=order)
    assert answer_to_head(running, method, path, None, kind).startswith(b"HTTP/1.1 401")
    if order in path:
        assert answer_to_head(running, method, path, other, kind).startswith(b"HTTP/1.1 404")


def test_nobody_is_shut_out_where_last_seen_cannot_be_written(running: Running, monkeypatch):
    """A full disk: every request of somebody signed in was 503."""
    maker = running.maker()
    assert maker.get("/api/v1/orders").status_code == 200
    written: list[str] = []

    def full(*_asked: object) -> None:
        written.append("tried")
        raise OperationalError("UPDATE", {}, Exception("database or disk is full"))

    monkeypatch.setattr("service.rest.understanding.note_use", full)
    monkeypatch.setattr("service.access.sessions._SEEN_EVERY", timedelta(seconds=-1))
    assert maker.get("/api/v1/orders").status_code == 200
    assert written == ["tried"]
