"""The data folder belongs to one installation: two services that know nothing of each other would spoil it."""

from __future__ import annotations

import fcntl
import json
from contextlib import suppress
from dataclasses import asdict, dataclass
from io import TextIOWrapper
from pathlib import Path

_NAME = "in-use.lock"
_NOTED = "service.json"
_PRIVATE, _OTHERS = 0o700, 0o077


class FolderTakenError(Exception):
    """Another process has the folder."""


class FolderExposedError(Exception):
    """Others than the service's user can look into the folder, and that cannot be mended from here."""


def keep_private(folder: Path) -> bool:
    """Make the folder, or see that nobody but its owner enters it; whether that had to be mended.

    It holds keys that sign, clients' particulars and mail with links: who enters it has all of them.

    Raises:
        FolderExposedError: its rights are not ours to change, or changing them changes nothing.
    """
    folder.mkdir(mode=_PRIVATE, parents=True, exist_ok=True)
    if not folder.stat().st_mode & _OTHERS:
        return False
    with suppress(PermissionError):
        folder.chmod(_PRIVATE)
    if folder.stat().st_mode & _OTHERS:
        raise FolderExposedError(
            f"Other users of this machine can look into {folder.resolve()}, where keys and clients' data lie, and "
            "its rights cannot be changed from here. As its owner: chmod 700. On a disk that knows no rights, "
            "choose a folder on another one with --data."
        )
    return True


class FolderLock:
    """A lock on a data folder; the system lets go of it when the process ends, however it ends."""

    def __init__(self, folder: Path) -> None:
        self._path = folder / _NAME
        self._file: TextIOWrapper | None = None

    def take(self, *, alone: bool) -> None:
        """Take the folder, once: for this process alone, or together with others that do not want it alone.

        Raises:
            FolderTakenError: somebody has it in a way that does not go with this.
        """
        if self._file is not None:
            return
        file = self._path.open("a")
        try:
            fcntl.flock(file, (fcntl.LOCK_EX if alone else fcntl.LOCK_SH) | fcntl.LOCK_NB)
        except BlockingIOError:
            file.close()
            raise FolderTakenError(
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
