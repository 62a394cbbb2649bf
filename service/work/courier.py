"""The courier: a thread that sends what webhooks wait for, and tries again what did not go."""

from __future__ import annotations

import http.client
import logging
import socket
import ssl
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass
from functools import partial
from urllib.parse import urlsplit

from service import VERSION
from service.orders.webhooks import headers_of, is_public
from service.store.bells import EVENTS, Bells
from service.store.rounds import Rounds
from service.usecases import webhooks
from service.usecases.context import Context

SECONDS = 15.0
"""Longest try; the specification proposes 15 to 30."""
_EVERY_SECONDS = 1.0
_LEAST_SECONDS = 0.2
"""Between two looks, where others have in hand what is due."""
_QUIET_SECONDS = 10.0
"""Where events are rung for: what is to be tried again is waited for to the moment."""
_AT_ONCE = 4
_ANSWER = 1000
"""Bytes of an answer that are read: nobody needs more to know whether it was taken."""
log = logging.getLogger("slatproof.webhooks")


@dataclass(frozen=True)
class Answer:
    """How a try went: the status, or what went wrong."""

    status: int | None
    trouble: str = ""


class NoSuchPlaceError(Exception):
    """An address that nothing is sent to."""


def send(url: str, body: str, headers: dict[str, str], *, anywhere: bool) -> Answer:
    """Post a message once: no redirect is followed, and only public addresses are connected to.

    The address is looked up here and that very address is connected to, so that no name can come to mean another
    machine in between.

    Args:
        anywhere: addresses of this machine and its network are connected to as well.
    """
    try:
        connection = _connection(url, anywhere=anywhere)
    except (NoSuchPlaceError, OSError, ValueError) as error:
        return Answer(None, str(error) or type(error).__name__)
    parts = urlsplit(url)
    path = (parts.path or "/") + (f"?{parts.query}" if parts.query else "")
    sent = {"Content-Type": "application/json", "User-Agent": f"Slatproof/{VERSION}", **headers}
    try:
        connection.request("POST", path, body=body.encode(), headers=sent)
        answer = connection.getresponse()
        answer.read(_ANSWER)
    except (OSError, http.client.HTTPException) as error:
        return Answer(None, f"{type(error).__name__}: {error}")
    finally:
        connection.close()
    good = 200 <= answer.status < 300
    return Answer(answer.status, "" if good else f"The receiver answered {answer.status}.")


def _connection(url: str, *, anywhere: bool) -> http.client.HTTPConnection:
    parts = urlsplit(url)
    host, secure = parts.hostname or "", parts.scheme == "https"
    port = parts.port or (443 if secure else 80)
    address = _address_of(host, port, anywhere=anywhere)
    plain = socket.create_connection((address, port), timeout=SECONDS)
    connection = http.client.HTTPConnection(host, port, timeout=SECONDS)
    try:
        connection.sock = _wrapped(plain, host) if secure else plain
    except OSError:
        plain.close()
        raise
    return connection


def _wrapped(plain: socket.socket, host: str) -> socket.socket:
    return ssl.create_default_context().wrap_socket(plain, server_hostname=host)


def _address_of(host: str, port: int, *, anywhere: bool) -> str:
    """The first address of a name. NoSuchPlaceError where any of them is not a public one."""
    found = [str(each[4][0]) for each in socket.getaddrinfo(host, port, type=socket.SOCK_STREAM)]
    for each in found:
        if not anywhere and not is_public(each):
            raise NoSuchPlaceError(f"{host} is an address within a network; messages go to public ones only.")
    return found[0]


class Courier:
    """Sends what is due, several messages side by side. Several may run, in several processes."""

    def __init__(self, ctx: Context, bells: Bells | None = None) -> None:
        """A courier who has not begun; with bells, who is rung for what happens."""
        self._ctx = ctx
        self._bells = bells or Bells()
        self._rounds = Rounds(
            "courier",
            bells=self._bells,
            topic=EVENTS,
            look=self.look,
            rest=lambda: _EVERY_SECONDS,
            failed=partial(log.exception, "webhooks could not be looked after; trying again"),
        )
        self._pool = ThreadPoolExecutor(_AT_ONCE, thread_name_prefix="courier")

    def start(self) -> None:
        """Begin."""
        self._rounds.start()

    def stop(self) -> None:
        """Finish the messages in hand and end."""
        self._rounds.stop(SECONDS)
        self._pool.shutdown(wait=False)

    def deliver_due(self) -> int:
        """Try every message that is due, once; how many were tried."""
        tried = 0
        while not self._rounds.ending.is_set():
            taken = webhooks.take_due(self._ctx)
            if taken is None:
                return tried
            delivery, webhook = taken
            told = headers_of(webhook, delivery.id, delivery.body, self._ctx.clock.now())
            answer = send(webhook.url, delivery.body, told, anywhere=self._ctx.webhooks_anywhere)
            webhooks.note_try(self._ctx, delivery, webhook, answer.status, answer.trouble)
            tried += 1
        return tried

    def look(self) -> float:
        """Write the messages for what happened, and send what is due; seconds until it must be looked again."""
        webhooks.put_out(self._ctx)
        due = webhooks.seconds_until_due(self._ctx)
        if due == 0.0:
            list(self._pool.map(lambda _: self.deliver_due(), range(_AT_ONCE)))
            due = webhooks.seconds_until_due(self._ctx)
        longest = _QUIET_SECONDS if self._bells.reach_all else _EVERY_SECONDS
        return longest if due is None else min(longest, max(due, _LEAST_SECONDS))
