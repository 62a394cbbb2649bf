"""A line in front of a server that can be made slow, busy or dead: bytes pass through it unchanged otherwise."""

from __future__ import annotations

import contextlib
import socket
import threading
import time
from enum import Enum
from itertools import count

from tests.parts.process import free_port

_BUSY = b"HTTP/1.1 503 Slow Down\r\nContent-Length: 0\r\nConnection: close\r\n\r\n"


class Trouble(Enum):
    """What is wrong with the line."""

    NONE = "none"
    SLOW = "slow"  # each packet is held up
    BUSY = "busy"  # the server answers 503 to everything
    DEAD = "dead"  # connections are cut
    HUNG = "hung"  # nothing comes through, and nobody is told
    LATE = "late"  # a request is done, and the line is cut before its answer


class FaultyLine:
    """Listens on a port of 127.0.0.1 and passes on to others, in turn; ``trouble`` may be changed at any moment.

    In front of several web replicas it is the proxy that a shop would have: a dead one is passed over.
    """

    def __init__(self, *to_ports: int, hold_up: float = 0.3, port: int = 0) -> None:
        self.port = port or free_port()
        self.trouble = Trouble.NONE
        self.hits = 0  # how often the trouble was met
        self._to_ports = to_ports
        self._turn = count()
        self._hold_up = hold_up
        self._server = socket.create_server(("127.0.0.1", self.port), backlog=256)
        threading.Thread(target=self._accept, daemon=True, name="faulty-line").start()

    @property
    def url(self) -> str:
        return f"http://127.0.0.1:{self.port}"

    def close(self) -> None:
        """Take no more connections."""
        self._server.close()

    def _accept(self) -> None:
        with contextlib.suppress(OSError):
            while True:
                near, _ = self._server.accept()
                threading.Thread(target=self._connect, args=(near,), daemon=True).start()

    def _connect(self, near: socket.socket) -> None:
        far = self._reach()
        if far is None:
            near.close()
            return
        threading.Thread(target=self._pass, args=(near, far, True), daemon=True).start()
        self._pass(far, near, False)

    def _reach(self) -> socket.socket | None:
        first = next(self._turn)
        for step in range(len(self._to_ports)):
            port = self._to_ports[(first + step) % len(self._to_ports)]
            with contextlib.suppress(OSError):
                return socket.create_connection(("127.0.0.1", port))
        return None

    def _pass(self, source: socket.socket, target: socket.socket, asking: bool) -> None:
        with contextlib.suppress(OSError):
            while data := source.recv(65536):
                if not self._through(source, target, data, asking):
                    break
        for end in (source, target):
            with contextlib.suppress(OSError):
                end.shutdown(socket.SHUT_RDWR)
            end.close()

    def _through(self, source: socket.socket, target: socket.socket, data: bytes, asking: bool) -> bool:
        trouble = self.trouble
        self.hits += asking and trouble is not Trouble.NONE
        if trouble is Trouble.DEAD or (trouble is Trouble.LATE and not asking):
            return False
        if trouble is Trouble.BUSY and asking:
            source.sendall(_BUSY)
            return False
        while self.trouble is Trouble.HUNG:
            time.sleep(0.05)
        if trouble is Trouble.SLOW:
            time.sleep(self._hold_up)
        target.sendall(data)
        return True
