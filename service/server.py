"""The running processes: one that answers, and perhaps works too, and one that works alone."""

from __future__ import annotations

import argparse
import gc
import logging
import os
import signal
import socket
import sys
import threading
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from typing import TYPE_CHECKING

from service import VERSION
from service.settings import Settings
from service.store.folder import Noted, note_start

if TYPE_CHECKING:
    import uvicorn

    from service.root import Service

# The heavy rooms are imported inside the functions: processes for carving arithmetic import the command line again.
_EVERYBODY_KNOWS = (
    "Somebody of the made-up workshop still has the password that everybody knows, and this service is to be reached "
    "from other machines. Start it on 127.0.0.1, choose another password there, then start it again."
)
IDLE_CONNECTION_SECONDS = 75
"""Longer than proxies and clients keep a connection that nobody uses (60 s is common). Whoever closes first must be
the one that sends next: a request on its way while the server closes gets no answer."""


def ready(settings: Settings) -> Service | None:
    """A service whose database is up to date; ``None``, and why on standard error, where there is none."""
    from service.root import build
    from service.startup_errors import UNUSABLE, why_unusable

    try:
        service = build(settings)
        service.migrate()
        service.graph.then = gc.freeze
        gc.freeze()  # else each full collection looks at all that was loaded: a quarter of a second without an answer
    except UNUSABLE as trouble:
        print(why_unusable(trouble, settings), file=sys.stderr)
        return None
    return service


def work(settings: Settings, _given: argparse.Namespace) -> int:
    """Work until told to stop; its exit status."""
    service = ready(settings)
    if service is None:
        return 1
    ended = threading.Event()
    for number in (signal.SIGTERM, signal.SIGINT):
        signal.signal(number, lambda *_: ended.set())
    service.start()
    if settings.worker_metrics_port:
        from prometheus_client import start_http_server

        start_http_server(settings.worker_metrics_port, addr="127.0.0.1")
    while not (ended.wait(0.2) or service.struck.is_set() or service.broken.is_set()):
        pass
    service.stop()
    return _begin_anew(service)


def _begin_anew(service: Service) -> int:
    """A worker that was taken for dead goes on as a fresh process: what it had in hand is others' now."""
    if service.struck.is_set():
        os.execv(sys.executable, sys.orig_argv)  # noqa: S606 - this program, as it was started
    return 1 if service.broken.is_set() else 0


def serve(settings: Settings, _given: argparse.Namespace) -> int:
    """Answer requests until told to stop; its exit status."""
    from service.listening import PortError, listen, port_of

    if settings.role == "worker":
        print("SLATPROOF_ROLE is worker: start this process with `work`.", file=sys.stderr)
        return 2
    try:
        listener = listen(settings)  # first of all: nothing is brought up to date for a port that is taken
    except PortError as trouble:
        print(trouble.strerror, file=sys.stderr)
        return 1
    with _interrupts() as came, listener:
        return _serve_on(listener, settings.model_copy(update={"port": port_of(listener)}), came)


@contextmanager
def _interrupts() -> Iterator[threading.Event]:
    """Whether Ctrl-C came: where Python clears up after itself it drops the exception, and the program would go on."""
    came = threading.Event()

    def note(*_: object) -> None:
        came.set()
        raise KeyboardInterrupt

    before = signal.signal(signal.SIGINT, note)
    try:
        yield came
    finally:
        signal.signal(signal.SIGINT, before)


def _serve_on(listener: socket.socket, settings: Settings, interrupted: threading.Event) -> int:
    from service.seeding import seed_shop

    service = ready(settings)
    if service is None:
        return 1
    if settings.public and _opens_to_everybody(service):
        print(_EVERYBODY_KNOWS, file=sys.stderr)
        return 1
    if settings.embedded:
        _leave_word(settings)
    seeded = seed_shop(service.ctx) if settings.seed else ""
    if unnamed := _unnamed_proxy(settings):
        logging.getLogger("slatproof").warning(unnamed)
    server = server_of(service, _lines(service, seeded) if sys.stderr.isatty() else ())
    threading.Thread(target=_end_if_struck, args=(service, server), daemon=True).start()
    if interrupted.is_set():
        raise KeyboardInterrupt
    with suppress(KeyboardInterrupt):  # uvicorn has ended everything in order, and raises it again
        server.run(sockets=[listener])
    return _begin_anew(service) if server.started else 1


def _leave_word(settings: Settings) -> None:
    """Tell commands given beside it that it starts. A full disk does not keep people from reading what is there."""
    try:
        note_start(settings.data, Noted(settings.base_url, VERSION))
    except OSError as trouble:
        words = "commands given beside this service may take another address or version for its own: %s"
        logging.getLogger("slatproof").warning(words, trouble)


def _opens_to_everybody(service: Service) -> bool:
    from service.seeding import opens_with_seeded_password

    return opens_with_seeded_password(service.ctx)


def _lines(service: Service, seeded: str) -> tuple[str, ...]:
    from service.listening import first_lines, first_step
    from service.usecases.shop import list_workshops

    settings = service.settings
    step = first_step(len(list_workshops(service.ctx)), seeded)
    return first_lines(settings.base_url, settings.data, first_step=step)


def _unnamed_proxy(settings: Settings) -> str:
    """What to say where only a proxy can stand in front, and none is declared; else nothing."""
    if settings.trusted_proxies or not settings.base_url.startswith("https://"):
        return ""
    return (
        f"people reach {settings.base_url} by TLS, so a proxy stands in front, and SLATPROOF_TRUSTED_PROXIES names "
        "none: all clients look like one, and limits per network are not kept. Set it to the proxy's address."
    )


def server_of(service: Service, lines: tuple[str, ...] = ()) -> uvicorn.Server:
    """The server that answers by a service; it prints ``lines`` when it does."""
    import uvicorn

    from service.gate import Patience, Places, gated, make_room_for
    from service.listening import TellingServer

    settings = service.settings
    make_room_for(settings.connections_at_once)
    places = Places(settings.connections_at_once, max(settings.connections_at_once // 8, 1))
    proxies = [address.strip() for address in settings.trusted_proxies.split(",") if address.strip()]
    config = uvicorn.Config(
        service.app,
        http=gated(places, Patience(), proxies),
        ws_max_size=settings.body_limit,
        host=settings.host,
        port=settings.port,
        log_config=None,
        access_log=False,
        proxy_headers=bool(settings.trusted_proxies),
        forwarded_allow_ips=settings.trusted_proxies or None,
        server_header=False,
        date_header=True,
        timeout_keep_alive=IDLE_CONNECTION_SECONDS,
        timeout_graceful_shutdown=10,
    )
    return TellingServer(config, lines) if lines else uvicorn.Server(config)


def _end_if_struck(service: Service, server: uvicorn.Server) -> None:
    while not (service.struck.wait(0.5) or service.broken.is_set()):
        pass
    server.should_exit = True
