from __future__ import annotations

import asyncio
import socket
from collections.abc import Iterator
from contextlib import contextmanager
from datetime import UTC, datetime, timedelta

import pytest
from aiosmtpd.controller import Controller
from sqlalchemy import Connection, Engine, create_engine

from service.mail.outbox import Message
from service.mail.postman import Addressed
from service.store.mail_tables import messages
from service.store.metadata import metadata

NOW = datetime(2026, 5, 4, 9, 30, tzinfo=UTC)


class Clock:
    """A clock that tests set."""

    def __init__(self) -> None:
        self.moment = NOW

    def now(self) -> datetime:
        return self.moment

    def pass_by(self, **time: float) -> None:
        self.moment += timedelta(**time)


class Store:
    def __init__(self, engine: Engine) -> None:
        self._engine = engine

    @contextmanager
    def writing(self) -> Iterator[Connection]:
        with self._engine.begin() as connection:
            yield connection


class Catcher:
    """An SMTP server's part that keeps what it is sent; ``refusals`` are answered first."""

    def __init__(self) -> None:
        self.caught: list[bytes] = []
        self.envelopes: list[tuple[str, list[str]]] = []
        self.refusals: list[str] = []
        self.drops = 0

    async def handle_RCPT(self, server, session, envelope, address, options):
        if self.refusals:
            return self.refusals.pop(0)
        envelope.rcpt_tos.append(address)
        return "250 OK"

    async def handle_DATA(self, server, session, envelope):
        if self.drops:
            self.drops -= 1
            return "451 try again later"
        self.caught.append(envelope.original_content or b"")
        self.envelopes.append((envelope.mail_from, envelope.rcpt_tos))
        return "250 OK"


def directory(connection: Connection, message: Message, now: datetime) -> Addressed | None:
    to = message.facts.get("to", "imke@quillfern.example")
    if not to:
        return None
    facts = {
        "greeting": "Dear Imke Harrowdale,",
        "number": 12,
        "workshop": "Oxbarrow Benchworks",
        "client": "Imke Harrowdale",
        "until": "3 July 2026",
        "by": "Tamsin",
        "url": f"https://slats.example/link/{message.attempts}",
    }
    return Addressed(
        ((message.facts.get("name", "Imke Harrowdale"), to),),
        ("Oxbarrow Benchworks", "workshop@oxbarrow.example"),
        facts | dict(message.facts),
    )


@pytest.fixture
def store(tmp_path) -> Iterator[Store]:
    engine = create_engine(f"sqlite:///{tmp_path}/mail.db")
    metadata.create_all(engine, tables=[messages])
    yield Store(engine)
    engine.dispose()


@pytest.fixture
def clock() -> Clock:
    return Clock()


@pytest.fixture
def catcher() -> Iterator[tuple[Catcher, int]]:
    handler = Catcher()
    loop = asyncio.new_event_loop()
    port = _free_port()
    controller = Controller(handler, hostname="127.0.0.1", port=port, loop=loop)
    controller.start()
    yield handler, port
    controller.stop()
    loop.close()


def _free_port() -> int:
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        return probe.getsockname()[1]


@pytest.fixture
def free_port() -> int:
    return _free_port()
