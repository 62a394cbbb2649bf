"""The data folder belongs to one installation: two services that know nothing of each other would spoil it."""

from __future__ import annotations

import fcntl
import json
from dataclasses import asdict, dataclass
from io import TextIOWrapper
from pathlib import Path

_NAME = "in-use.lock"
_NOTED = "service.json"


class FolderTaken(Exception):  # noqa: N818 - says what is the case, and what to do
    """Another process has the folder."""


class FolderLock:
    """A lock on a data folder; the system lets go of it when the process ends, however it ends."""

    def __init__(self, folder: Path) -> None:
        self._path = folder / _NAME
        self._file: TextIOWrapper | None = None

    def take(self, *, alone: bool) -> None:
        """Take the folder, once: for this process alone, or together with others that do not want it alone.

        Raises:
            FolderTaken: somebody has it in a way that does not go with this.
        """
        if self._file is not None:
            return
        file = self._path.open("a")
        try:
            fcntl.flock(file, (fcntl.LOCK_EX if alone else fcntl.LOCK_SH) | fcntl.LOCK_NB)
        except BlockingIOError:
            file.close()
            raise FolderTaken(
                f"Another Slatproof process uses the folder {self._path.parent.resolve()}. Stop that one first, "
                "or give this one another folder with --data. To run several processes on one folder, start "
                "one with `serve --no-worker` and the others with `work`."
            ) from None
        self._file = file

    def release(self) -> None:
        """Let go of it."""
        if self._file is not None:
            self._file.close()
            self._file = None


@dataclass(frozen=True)
class Noted:
    """What a service that starts leaves word of in its folder, for commands given beside it.

    Attributes:
        address: where it answers; empty where no service ever started.
        version: what it runs.
    """

    address: str = ""
    version: str = ""


def note_start(folder: Path, noted: Noted) -> None:
    """Leave word that a service starts here."""
    new = folder / f"{_NOTED}.new"
    new.write_text(json.dumps(asdict(noted)) + "\n", encoding="utf-8")
    new.replace(folder / _NOTED)


def last_start(folder: Path) -> Noted:
    """Which service answers here, or answered last."""
    try:
        return Noted(**json.loads((folder / _NOTED).read_text(encoding="utf-8")))
    except (FileNotFoundError, ValueError, TypeError):
        return Noted()
