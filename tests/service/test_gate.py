"""Connections that say nothing, too little, too much, or never listen: each is ended, and honest ones are not."""

from __future__ import annotations

import socket
import threading
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager

import anyio
import httpx2
import pytest
import uvicorn
from prometheus_client import REGISTRY

from service import gate
from service.gate import Patience, Places, gated
from service.load_shedding import Crowd, LoadShedding

QUICK = Patience(
    head_seconds=0.3, head_bytes=4096, body_grace_seconds=0.3, body_rate=100_000, body_seconds=2.0, reader_seconds=0.3
)  # fmt: skip
LONG = Patience(head_seconds=60, body_grace_seconds=60, body_seconds=120, reader_seconds=60)
BIG = 8 * 1024 * 1024


async def app(scope, receive, send) -> None:
    """Answers with the size of the body; ``/big`` gives eight megabytes, ``/early`` answers before the body."""
    if scope["type"] != "http":
        return
    size = 0
    while scope["path"] != "/early":
        message = await receive()
        if message["type"] == "http.disconnect":
            return
        size += len(message["body"])
        if not message["more_body"]:
            break
    body = b"x" * BIG if scope["path"] == "/big" else str(size).encode()
    await send(
        {"type": "http.response.start", "status": 200, "headers": [(b"content-length", b"%d" % len(body))]}
    )
    await send({"type": "http.response.body", "body": body})


@pytest.fixture
def serving(monkeypatch: pytest.MonkeyPatch) -> Iterator[Callable[..., int]]:
    """Starts a server with given places and patience; its port."""
    monkeypatch.setattr(gate, "_LOOK_SECONDS", 0.02)
    started: list[tuple[uvicorn.Server, threading.Thread]] = []

    def start(
        places: Places | None = None, patience: Patience = QUICK, proxies: tuple[str, ...] = (), served=app
    ):
        protocol = gated(places or Places(100, 100), patience, proxies)
        config = uvicorn.Config(
            served, host="127.0.0.1", port=0, http=protocol, log_level="critical", lifespan="off"
        )
        server = uvicorn.Server(config)
        thread = threading.Thread(target=server.run)
        thread.start()
        started.append((server, thread))
        while not server.started:
            time.sleep(0.005)
        return server.servers[0].sockets[0].getsockname()[1]

    yield start
    for server, thread in started:
        server.should_exit = True
        thread.join()


@contextmanager
def talking(port: int, said: bytes = b"", source: str = "127.0.0.1") -> Iterator[socket.socket]:
    with socket.create_connection(("127.0.0.1", port), timeout=20, source_address=(source, 0)) as connection:
        connection.sendall(said)
        yield connection


def rest_of(connection: socket.socket) -> bytes:
    """Everything until the other side ends the connection."""
    parts = []
    try:
        while part := connection.recv(65536):
            parts.append(part)
    except ConnectionResetError:
        pass
    return b"".join(parts)


def counted(why: str) -> float:
    return REGISTRY.get_sample_value("slatproof_ended_connections_total", {"why": why}) or 0.0


POST = b"POST / HTTP/1.1\r\nHost: a\r\nContent-Length: 1000000\r\n\r\n"


@pytest.mark.parametrize(
    ("said", "told", "why"),
    [
        (b"", b"", "head"),
        (b"GET / HT", b"HTTP/1.1 408", "head"),
        (b"GET / HTTP/1.1\r\nHost: a\r\nX: y\r\n", b"HTTP/1.1 408", "head"),
        (POST, b"HTTP/1.1 408", "body"),
        (POST + b"x" * 1000, b"HTTP/1.1 408", "body"),
        (b"GET / HTTP/1.1\r\nX: " + b"y" * 9000, b"HTTP/1.1 431", "head too large"),
    ],
    ids=["silent", "half a line", "half a head", "no body", "a little body", "endless head"],
)
def test_whoever_does_not_go_on_is_ended(serving, said, told, why):
    port, before = serving(), counted(why)
    with talking(port, said) as connection:
        assert rest_of(connection).startswith(told)
    assert counted(why) == before + 1


def test_a_byte_now_and_then_is_too_little(serving):
    """Each byte came before the last one was forgotten: it is the rate that counts."""
    with talking(serving(), POST) as connection:
        connection.setblocking(False)
        for _ in range(400):
            try:
                connection.send(b"x")
                if connection.recv(100).startswith(b"HTTP/1.1 408"):
                    return
            except BlockingIOError:
                pass
            except (BrokenPipeError, ConnectionResetError):
                return
            time.sleep(0.02)
    raise AssertionError("eight seconds of one byte at a time were taken")


def test_a_reader_who_takes_nothing_is_ended(serving):
    before = counted("reader")
    with talking(serving(), b"GET /big HTTP/1.1\r\nHost: a\r\n\r\n") as connection:
        end = time.monotonic() + 20
        while counted("reader") == before and time.monotonic() < end:
            time.sleep(0.02)
        assert counted("reader") == before + 1
        assert len(rest_of(connection)) < BIG


def test_a_quick_sender_is_heard_out_and_the_connection_used_again(serving):
    with httpx2.Client(base_url=f"http://127.0.0.1:{serving()}", timeout=20) as client:
        for _ in range(3):
            assert client.post("/", content=b"x" * 3_000_000).text == "3000000"
            assert client.get("/").text == "0"
            assert client.post("/early", content=b"x" * 1000).status_code == 200


def test_while_we_do_not_read_the_sender_is_not_slow(serving):
    """The room for uploads may be full: their bytes then wait at their sender."""

    async def late(scope, receive, send) -> None:
        await anyio.sleep(1.0)  # three times what a sender may take
        await app(scope, receive, send)

    with httpx2.Client(base_url=f"http://127.0.0.1:{serving(served=late)}", timeout=20) as client:
        assert client.post("/", content=b"x" * 3_000_000).text == "3000000"


def test_no_network_has_all_the_connections(serving):
    port = serving(Places(6, 4), LONG)
    held = [socket.create_connection(("127.0.0.1", port)) for _ in range(4)]
    try:
        with talking(port) as one_more:
            assert rest_of(one_more).startswith(b"HTTP/1.1 503")
        with talking(port, b"GET / HTTP/1.1\r\nHost: a\r\nConnection: close\r\n\r\n", "127.0.0.2") as other:
            assert rest_of(other).startswith(b"HTTP/1.1 200")
    finally:
        for each in held:
            each.close()
    end = time.monotonic() + 20
    while time.monotonic() < end:  # their places are had again
        with talking(port, b"GET / HTTP/1.1\r\nHost: a\r\nConnection: close\r\n\r\n") as after:
            if rest_of(after).startswith(b"HTTP/1.1 200"):
                return
        time.sleep(0.02)
    raise AssertionError("the places of connections that ended are gone")


def test_a_declared_proxy_has_everybodys_connections(serving):
    port = serving(Places(100, 2), LONG, ("127.0.0.1",))
    held = [socket.create_connection(("127.0.0.1", port)) for _ in range(5)]
    with talking(port, b"GET / HTTP/1.1\r\nHost: a\r\nConnection: close\r\n\r\n") as one_more:
        assert rest_of(one_more).startswith(b"HTTP/1.1 200")
    for each in held:
        each.close()


SCOPE = {"type": "http", "method": "GET", "path": "/", "headers": [], "client": ("192.0.2.1", 1)}
EVENTS = SCOPE | {"path": "/api/v1/orders/a/events"}
BY_GRAPH = SCOPE | {"path": "/graphql", "headers": [(b"accept", b"text/event-stream")]}
SOCKET = SCOPE | {"type": "websocket", "path": "/graphql"}
PROXIED = {"client": ("10.0.0.1", 1), "headers": [(b"x-forwarded-for", b"192.0.2.1")]}


def answered(scopes: list[dict]) -> list[object]:
    """What each is told while all before it still go on: a status, a close code, or None where it goes on."""

    async def ask() -> list[object]:
        told: list[object] = [None] * len(scopes)
        done = anyio.Event()

        async def going_on(_scope, _receive, _send) -> None:
            await done.wait()

        load_shedding = LoadShedding(going_on, Crowd.of(4, 12, trusts_a_proxy=False), secure=False)

        async def one(at: int, scope: dict) -> None:
            async def receive() -> dict:
                return {"type": "websocket.connect"}

            async def send(message) -> None:
                told[at] = message.get("status") or message.get("code") or told[at]

            await load_shedding(dict(scope), receive, send)

        async with anyio.create_task_group() as group:
            for at, scope in enumerate(scopes):
                group.start_soon(one, at, scope)
                await anyio.sleep(0.001)
            done.set()
        return told

    return anyio.run(ask)


def test_requests_of_one_network_take_half_and_health_is_always_answered():
    other = SCOPE | {"client": ("192.0.2.2", 1)}
    third = SCOPE | {"client": ("2001:db8::1", 1)}
    health = SCOPE | {"path": "/health/ready"}
    assert answered([SCOPE, SCOPE, SCOPE, other, other, third, health]) == [
        None,
        None,
        503,
        None,
        None,
        503,
        None,
    ]


def test_an_ipv6_network_is_64_bits():
    of = [SCOPE | {"client": (f"2001:db8::{n}", 1)} for n in range(3)]
    assert answered([*of, SCOPE | {"client": ("2001:db8:0:1::1", 1)}]) == [None, None, 503, None]


def test_streams_have_places_of_their_own():
    assert answered([EVENTS, BY_GRAPH, EVENTS, SOCKET, SCOPE]) == [None, None, 503, 1013, None]
    assert answered([SOCKET, SOCKET, SOCKET]) == [None, None, 1013]


def test_behind_a_proxy_that_was_not_declared_nobody_stands_for_all():
    assert answered([SCOPE | PROXIED] * 4) == [None] * 4
    far = SCOPE | PROXIED | {"client": ("192.0.2.1", 1)}  # anybody can write such a header
    assert answered([far] * 3) == [None, None, 503]
