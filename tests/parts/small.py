"""The small shape: one process, SQLite, a folder; the folder on a disk of its own where one can be made."""

from __future__ import annotations

import os
import subprocess
from collections.abc import Mapping
from pathlib import Path

from tests.parts.process import Part, free_port
from tests.parts.shape import answers, command, variables


class SmallShape:
    """One installation in one process."""

    def __init__(
        self,
        home: Path,
        *,
        disk_mb: int | None = None,
        also: Mapping[str, str] | None = None,
        **settings: object,
    ) -> None:
        """Nothing is started yet.

        Args:
            home: empty folder.
            disk_mb: size of a disk in memory for the data, which may then be filled or made read-only; needs root.
            also: other variables of the process.
            **settings: the service's, beside folder and port.
        """
        home.mkdir(parents=True, exist_ok=True)
        self.data = home / "data"
        self.data.mkdir(exist_ok=True)
        self._disk_mb = disk_mb
        if disk_mb is not None:
            _run("mount", "-t", "tmpfs", "-o", f"size={disk_mb}m", "none", str(self.data))
        self.port = free_port()
        usual = {"data": self.data, "port": self.port, "compute": 1, "orders_an_hour": 0}
        self._settings: dict[str, object] = {**usual, **settings}
        self.part = Part(
            "service", command("serve", "--seed"), home / "service.log", self.environ | dict(also or {})
        )

    @property
    def url(self) -> str:
        return f"http://127.0.0.1:{self.port}"

    @property
    def parts(self) -> tuple[Part, ...]:
        """The processes of the service itself."""
        return (self.part,)

    @property
    def environ(self) -> dict[str, str]:
        """Its settings as environment variables."""
        return variables(self._settings)

    def start(self) -> None:
        """Start it and wait until people are answered."""
        self.part.start()
        self.part.wait_until(lambda: answers(self.url))

    def fill(self) -> None:
        """Leave nothing free on its disk, at once: the disk becomes as small as what is on it."""
        while True:
            there = os.statvfs(self.data)
            try:
                self._remount(f"size={(there.f_blocks - there.f_bfree) * there.f_frsize}")
            except subprocess.CalledProcessError:
                continue  # something was written meanwhile
            return

    def empty(self) -> None:
        """Give it its size again."""
        self._remount(f"size={self._disk_mb}m")

    def allow_writing(self, yes: bool) -> None:
        """Make its disk read-only, or writable again; nobody may have a file open for writing."""
        self._remount("rw" if yes else "ro")

    def _remount(self, options: str) -> None:
        _run("mount", "-o", f"remount,{options}", str(self.data))

    def stop(self) -> None:
        """Stop it and take its disk away."""
        self.part.stop()
        if self._disk_mb is not None:
            _run("umount", str(self.data))


def can_mount() -> bool:
    """Whether a disk of its own can be made here."""
    return os.geteuid() == 0


def _run(*words: str) -> None:
    subprocess.run(words, check=True, capture_output=True)
