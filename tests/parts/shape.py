"""The large shape: PostgreSQL, an S3 store, web replicas behind one door, workers; by settings only."""

from __future__ import annotations

import os
import subprocess
import sys
from collections.abc import Mapping
from pathlib import Path

import httpx2

from service.settings import PREFIX
from tests.parts.database_server import DatabaseServer
from tests.parts.faulty_line import FaultyLine
from tests.parts.object_store import ObjectStore
from tests.parts.process import Part, free_port

WEB = ("serve",)
WORKER = ("work",)
"""Commands of ``slatproof``; ``compose.yaml`` starts the same."""

DATABASE = "slatproof"


def command(*arguments: str) -> list[str]:
    """The service's own command line."""
    return [sys.executable, "-m", "service.cli", *arguments]


def variables(settings: Mapping[str, object]) -> dict[str, str]:
    """Settings as environment variables."""
    return {PREFIX + name.upper(): str(value) for name, value in settings.items()}


class Shape:
    """All parts of one installation; ``start`` and ``stop`` take them in order."""

    def __init__(
        self,
        home: Path,
        *,
        webs: int = 2,
        workers: int = 2,
        port: int = 0,
        also: Mapping[str, str] | None = None,
        **settings: object,
    ) -> None:
        """Nothing is started yet.

        Args:
            home: empty folder.
            webs: web replicas.
            workers: workers.
            port: of the door that stands for a proxy; 0: a free one.
            also: other variables of the service's processes.
            **settings: the service's, where not the shape's own.
        """
        home.mkdir(parents=True, exist_ok=True)
        self.home = home
        self.database = DatabaseServer()
        self.objects = ObjectStore(home / "objects")
        # The S3 store is reached over a line of which tests make a poor one.
        self.line = FaultyLine(self.objects.port)
        ports = [free_port() for _ in range(webs)]
        self.door = FaultyLine(*ports, port=port)
        self._also = dict(also or {})
        self._settings: dict[str, object] = {
            "database": self.database.url(DATABASE),
            "data": home / "data",
            "public_url": self.door.url,
            "trusted_proxies": "127.0.0.1",
            "compute": 1,
            "orders_an_hour": 0,  # all of a test's people come from one address
            **self.objects.settings(self.line.url),
            **settings,
        }
        self.webs = [self._part(f"web-{n}", WEB, role="web", port=port) for n, port in enumerate(ports, 1)]
        self.workers = [self._part(f"worker-{n}", WORKER, role="worker") for n in range(1, workers + 1)]
        self._urls = [f"http://127.0.0.1:{port}" for port in ports]

    @property
    def url(self) -> str:
        """Where people reach it."""
        return self.door.url

    @property
    def web_urls(self) -> tuple[str, ...]:
        """Where each web replica is reached without the door."""
        return tuple(self._urls)

    @property
    def parts(self) -> tuple[Part, ...]:
        """The processes of the service itself."""
        return (*self.webs, *self.workers)

    @property
    def environ(self) -> dict[str, str]:
        """The settings every process of it shares, as environment variables."""
        return variables(self._settings)

    def start(self, *, seed: bool = False) -> None:
        """Start every part and wait until people are answered."""
        self.database.start()
        self.database.create(DATABASE)
        self.objects.start()
        self.run("seed" if seed else "migrate")
        for part in self.parts:
            part.start()
        for part, url in zip(self.webs, self._urls, strict=True):
            part.wait_until(lambda url=url: answers(url))  # type: ignore[misc]

    def run(self, *arguments: str) -> str:
        """Run one command of ``slatproof`` with this shape's settings; what it said."""
        done = subprocess.run(
            command(*arguments), env=os.environ | self.environ, capture_output=True, text=True, check=False
        )
        if done.returncode:
            raise SystemExit(f"slatproof {' '.join(arguments)} failed:\n{done.stdout}{done.stderr}")
        return done.stdout

    def stop(self) -> None:
        """Stop every part: those who ask before those who are asked."""
        for part in self.parts:
            part.stop()
        self.door.close()
        self.line.close()
        # It takes 15 s to stop when asked, and keeps nothing in memory that would be lost.
        self.objects.part.kill()
        self.database.remove()

    def _part(self, name: str, arguments: tuple[str, ...], **settings: object) -> Part:
        environ = self.environ | variables(settings) | self._also
        return Part(name, command(*arguments), self.home / f"{name}.log", environ)


def answers(url: str) -> bool:
    """Whether a web replica answers."""
    try:
        return httpx2.get(f"{url}/api/v1/workshops", timeout=5).is_success
    except httpx2.TransportError:
        return False
