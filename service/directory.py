"""Which workshop is where, for a host with several places: requests for one that is elsewhere are sent on.

The file that ``SLATPROOF_DIRECTORY`` names has a line a workshop, ``KEY ADDRESS``, the same file at every place;
``slatproof directory`` prints a place's own lines. It is read again whenever it changes.
"""

from __future__ import annotations

import logging
import re
from collections.abc import Callable
from pathlib import Path

from anyio import to_thread
from starlette.responses import RedirectResponse
from starlette.types import ASGIApp, Receive, Scope, Send

_PUBLIC = re.compile(r"^(?:/at|/api/v1/workshops)/([^/]+)")
_LINK = re.compile(r"^/link/([^/]+)$")
_LINE = re.compile(r"^([a-z0-9-]{1,64})\s+(https?://[^\s/]+)/?$")
log = logging.getLogger("slatproof")


class DirectoryError(ValueError):
    """The file cannot be read as a directory."""


class Directory:
    """The file, as it is now.

    Args:
        path: of the file.
        own: address of this place; its workshops are answered here.
    """

    def __init__(self, path: Path, own: str) -> None:
        """Raises DirectoryError."""
        self._path, self._own = path, own.rstrip("/")
        self._places: dict[str, str] = {}
        self._read_at: tuple[int, int] | None = None
        self._read()

    def elsewhere(self, key: str) -> str | None:
        """The address of the place that has a workshop, where that is not this one."""
        try:
            self._read()
        except DirectoryError as trouble:  # somebody is writing it: what was read last holds
            log.warning("%s", trouble)
        place = self._places.get(key)
        return None if place == self._own else place

    def _read(self) -> None:
        try:
            now = self._path.stat()
            mark = (now.st_mtime_ns, now.st_size)
            if mark == self._read_at:
                return
            text = self._path.read_text("utf-8")
        except (OSError, UnicodeDecodeError) as trouble:
            raise DirectoryError(f"the directory of places cannot be read: {trouble}") from trouble
        self._places, self._read_at = dict(self._lines(text)), mark

    def _lines(self, text: str) -> list[tuple[str, str]]:
        found = []
        for number, line in enumerate(text.splitlines(), 1):
            if line.strip() and not line.startswith("#"):
                said = _LINE.match(line.strip())
                if said is None:
                    raise DirectoryError(
                        f"{self._path}, line {number}: want a workshop's key and an address."
                    )
                found.append((said[1], said[2]))
        return found


class SendOn:
    """Sends on what is for a workshop elsewhere: its public pages and operations, and links of its clients.

    Args:
        app: everything that is answered here.
        directory: which workshop is where.
        whose_link: the key of the workshop that a client's link was made by, good still or not.
    """

    def __init__(self, app: ASGIApp, directory: Directory, whose_link: Callable[[str], str | None]) -> None:
        """Nothing is read yet."""
        self._app, self._directory, self._whose_link = app, directory, whose_link

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """308: the method and the body go along."""
        place = await self._place(scope["path"]) if scope["type"] == "http" else None
        if place is None:
            await self._app(scope, receive, send)
            return
        path = scope.get("raw_path", scope["path"].encode()).decode("ascii")
        query = scope["query_string"].decode("ascii")
        answer = RedirectResponse(f"{place}{path}{'?' if query else ''}{query}", 308)
        answer.headers["Referrer-Policy"] = "no-referrer"
        await answer(scope, receive, send)

    async def _place(self, path: str) -> str | None:
        if found := _PUBLIC.match(path):
            return self._directory.elsewhere(found[1])
        if found := _LINK.match(path):
            key = await to_thread.run_sync(self._whose_link, found[1])
            return self._directory.elsewhere(key) if key else None
        return None
