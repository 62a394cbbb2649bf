"""The port that is served: taken before anything else, told to whoever started the service at a terminal."""

from __future__ import annotations

import errno
import socket
import sys
from pathlib import Path

import uvicorn

from service.settings import Settings

BACKLOG = 2048
"""Connections that may wait to be taken; uvicorn's own number."""
_WHY = {
    errno.EADDRINUSE: "something else listens there; stop that, or give another port with --port",
    errno.EACCES: "ports below 1024 belong to root; give another port with --port, and a proxy the low one",
    errno.EADDRNOTAVAIL: "this machine has no such address; SLATPROOF_HOST names the one to listen on",
}


class PortError(OSError):
    """The address cannot be listened on; the words say why and what to do."""


def listen(settings: Settings) -> socket.socket:
    """A socket on the settings' address. Raises PortError."""
    family = socket.AF_INET6 if ":" in settings.host else socket.AF_INET
    listener = socket.socket(family, socket.SOCK_STREAM)
    listener.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
    try:
        listener.bind((settings.host, settings.port))
        listener.listen(BACKLOG)
    except (OSError, OverflowError) as trouble:
        listener.close()
        number = trouble.errno if isinstance(trouble, OSError) else None
        why = _WHY.get(number or 0, str(trouble))
        raise PortError(number, f"{settings.host}, port {settings.port}, cannot be served: {why}.") from None
    return listener


def port_of(listener: socket.socket) -> int:
    """The port that was really taken: the settings may leave the choice to the system."""
    port: int = listener.getsockname()[1]
    return port


class TellingServer(uvicorn.Server):
    """Says on a terminal where it answers and what to do first, once it does.

    Args:
        config: see uvicorn.
        lines: what to say.
    """

    def __init__(self, config: uvicorn.Config, lines: tuple[str, ...]) -> None:
        super().__init__(config)
        self._lines = lines

    async def startup(self, sockets: list[socket.socket] | None = None) -> None:
        """See ``uvicorn.Server``."""
        await super().startup(sockets)
        if self.started:
            print("\n".join(self._lines), file=sys.stderr, flush=True)


def first_lines(address: str, data: Path, *, first_step: str) -> tuple[str, ...]:
    """Three lines for the person who started the service."""
    return (
        f"Slatproof answers at {address}/ and keeps everything in {data.resolve()}. Ctrl-C stops it.",
        f"The maker's bench: {address}/bench",
        f"First: {first_step}",
    )


def first_step(workshops: int, seeded: str) -> str:
    """What to do first: sign in where there is a workshop, found one where there is none.

    Args:
        workshops: how many there are.
        seeded: how to sign in to the made-up workshop; empty where it was not asked for.
    """
    if seeded:
        return seeded
    if workshops:
        return "sign in at the bench."
    return 'in another terminal, slatproof found KEY "WORKSHOP" "YOUR NAME" YOUR@ADDRESS prints your link.'
