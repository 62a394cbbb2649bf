"""One person's way into the public API."""

from __future__ import annotations

import time
import uuid
from collections.abc import Callable
from typing import Any, TypeVar

import httpx2

T = TypeVar("T")
LONGEST_WAIT = 120.0
GLANCE = 0.05


class CallError(Exception):
    """The service said no; ``str`` gives its reason."""


class Door:
    """Calls under ``/api/v1`` with one person's credentials."""

    def __init__(self, address: str, token: str | None = None) -> None:
        headers = {"Authorization": f"Bearer {token}"} if token else {"Origin": address}
        self._client = httpx2.Client(base_url=f"{address}/api/v1", headers=headers, timeout=60)

    def close(self) -> None:
        """Let go of its connections."""
        self._client.close()

    def get(self, path: str) -> Any:
        """The JSON at ``path``."""
        return self._answer(self._client.get(path))

    def get_bytes(self, path: str) -> bytes:
        """The file at ``path``; whole addresses as the API gives them are taken too."""
        return self._whole(self._client.get(path.removeprefix("/api/v1"))).content

    def send(self, path: str, body: Any = None, method: str = "POST", revision: int | None = None) -> Any:
        """Sends JSON; creating calls carry a key so that a repeat does nothing twice."""
        headers = {"Idempotency-Key": str(uuid.uuid4())}
        if revision is not None:
            headers["If-Match"] = f'"{revision}"'
        return self._answer(self._client.request(method, path, json=body, headers=headers))

    def upload(self, path: str, name: str, data: bytes, content_type: str, carving: str) -> Any:
        """Uploads one file for one carving."""
        files = {"file": (name, data, content_type)}
        headers = {"Idempotency-Key": str(uuid.uuid4())}
        return self._answer(self._client.post(path, files=files, data={"carvings": carving}, headers=headers))

    def _answer(self, response: httpx2.Response) -> Any:
        response = self._whole(response)
        return response.json() if response.content else None

    @staticmethod
    def _whole(response: httpx2.Response) -> httpx2.Response:
        if response.is_success:
            return response
        problem = response.json()
        title, detail = problem.get("title") or "", problem.get("detail") or ""
        words = detail if detail.startswith(title) else f"{title}: {detail}"
        raise CallError(f"{response.status_code} {words}")


def wait_for(ask: Callable[[], T], done: Callable[[T], bool], what: str) -> T:
    """Asks again until it is done; the service works in the background."""
    deadline = time.monotonic() + LONGEST_WAIT
    while not done(found := ask()):
        if time.monotonic() > deadline:
            raise SystemExit(f"{what} took longer than {LONGEST_WAIT:.0f} s: something is wrong")
        time.sleep(GLANCE)
    return found
