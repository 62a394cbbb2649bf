"""An own copy of the service, attacked from addresses of this machine: what it costs, and what others wait."""

from __future__ import annotations

import os
import socket
import subprocess
import sys
import threading
import time
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from pathlib import Path
from urllib.parse import urlsplit

import httpx2

from tests.parts.process import bound, free_port, processor_seconds
from tests.running import API, FROM_HERE, Caller, art, carvings

HONEST = "127.0.0.1"
"""Attackers come from 127.0.0.66 and on: networks of their own."""


SECOND = "second-shop"
_FOUND_SECOND = f"""
from seeds.shop import load
from service.orders.actors import System
from service.root import build
from service.settings import load_settings
from service.usecases import shop
service, facts = build(load_settings()), load()
service.migrate()
founded = shop.open_workshop(service.ctx, {SECOND!r}, "A second shop", facts.bits[0], facts.allowances)
system = System(founded.id, "seed")
for bit in facts.bits[1:]:
    shop.save_bit(service.ctx, system, bit, 0)
for model in facts.models:
    shop.save_model(service.ctx, system, model, {{}}, 0)
service.database.close()
"""


class Victim:
    """One service of one process with the seed shop and a second one, started from a folder of the code."""

    def __init__(self, tree: Path, home: Path) -> None:
        self.port = free_port()
        self.url = f"http://127.0.0.1:{self.port}"
        given = {"DATA": home / "data", "PORT": self.port, "ORDERS_AN_HOUR": 0, "COMPUTE": 2}
        environ = os.environ | {f"SLATPROOF_{name}": str(value) for name, value in given.items()}
        self._log = (home / "service.log").open("ab")
        subprocess.run(
            [sys.executable, "-c", _FOUND_SECOND],
            cwd=tree, env=environ, stdout=self._log, stderr=self._log, check=True,
        )  # fmt: skip
        self.process = subprocess.Popen(
            bound([sys.executable, "-m", "service.cli", "serve", "--seed"]),
            cwd=tree, env=environ, stdout=self._log, stderr=self._log, start_new_session=True,
        )  # fmt: skip
        end = time.monotonic() + 120
        while time.monotonic() < end:
            try:
                if httpx2.get(f"{self.url}/health/ready", timeout=5).status_code == 200:
                    break
            except httpx2.HTTPError:
                time.sleep(0.2)
        self.settle()

    def stop(self) -> None:
        """End it."""
        self.process.terminate()
        try:
            self.process.wait(30)
        except subprocess.TimeoutExpired:
            self.process.kill()
            self.process.wait()
        self._log.close()

    def processor_seconds(self) -> float:
        """Of the service and every process it started."""
        return processor_seconds(self.process.pid)

    def settle(self, seconds: float = 60) -> None:
        """Wait until it has nothing to do."""
        end = time.monotonic() + seconds
        while time.monotonic() < end:
            before, begun = self.processor_seconds(), time.monotonic()
            time.sleep(0.5)
            if (self.processor_seconds() - before) / (time.monotonic() - begun) < 0.15:
                return

    def caller(self, address: str = HONEST, token: str | None = None, seconds: float = 60) -> Caller:
        """Somebody at an address of this machine."""
        headers = {"Authorization": f"Bearer {token}"} if token else FROM_HERE
        transport = httpx2.HTTPTransport(local_address=address)
        return Caller(base_url=self.url, timeout=seconds, headers=headers, transport=transport)

    def open_socket(self, said: bytes, address: str) -> socket.socket:
        """A connection that has said something."""
        host = urlsplit(self.url)
        connection = socket.create_connection((host.hostname, host.port), 10, source_address=(address, 0))
        connection.sendall(said)
        return connection

    def upload(self, caller: Caller, placed: dict, name: str, data: bytes) -> int:
        """Send a file for an order's first slat; the status."""
        order = placed["order"]
        answer = caller.post(
            f"{API}/orders/{order['id']}/artworks",
            files={"file": (name, data)}, data={"carvings": carvings(order)[0]["id"]},
        )  # fmt: skip
        return answer.status_code

    def from_file_to_proof(self, seconds: float = 600) -> float:
        """How long an honest visitor waits from sending ordinary art to its proof."""
        with self.caller() as visitor:
            placed = visitor.send_order()
        with self.caller(token=placed["link_token"]) as client:
            begun = time.monotonic()
            status = self.upload(client, placed, "crest.svg", art("crest.svg"))
            assert status == 201, status
            client.settled(placed["order"]["id"], seconds)
            return time.monotonic() - begun


def waits(victim: Victim, times: int, path: str = "/", seconds: float = 20) -> list[float]:
    """An honest visitor's looks at a page; whoever is not answered waited as long as they would."""
    found = []
    with victim.caller(seconds=seconds) as visitor:
        for _ in range(times):
            begun = time.monotonic()
            try:
                good = visitor.get(path).status_code < 500
            except httpx2.HTTPError:
                good = False
            found.append(time.monotonic() - begun if good else seconds)
    return found


@contextmanager
def going_on(works: Sequence) -> Iterator[None]:
    """Attackers at it, each in a thread, again and again."""
    over = threading.Event()

    def again(work) -> None:
        while not over.is_set():
            try:
                work()
            except (OSError, httpx2.HTTPError):
                time.sleep(0.05)

    threads = [threading.Thread(target=again, args=(work,), daemon=True) for work in works]
    for thread in threads:
        thread.start()
    try:
        yield
    finally:
        over.set()
        for thread in threads:
            thread.join(30)
