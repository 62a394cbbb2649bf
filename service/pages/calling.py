"""The public API, called within the process with the visitor's own credentials."""

from __future__ import annotations

import logging
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

import httpx2
from starlette.requests import Request
from starlette.types import ASGIApp

API = "/api/v1"
# A call within the process is part of the request that is logged already.
logging.getLogger("httpx2").setLevel(logging.WARNING)
ORDER_HEADER = "Slatproof-Order"
SECOND_STEP_DUE = "second-step-due"
"""Code of the problem that whoever has to set a second step up meets everywhere else."""
# What of a visitor's request the API may know; everything else is the page's own.
_PASSED_ON = ("cookie", "user-agent", "accept-language", "x-forwarded-for", "forwarded", "x-real-ip")

WHO_ASKS = frozenset({401, 403, 404})
"""Answers about who asks; any other no to a proposal leaves the page as it is without it."""


class Refused(Exception):  # noqa: N818 - an answer, not a fault
    """The API said no.

    Attributes:
        status: HTTP status.
        problem: the body as RFC 9457 has it; empty where the answer had none.
    """

    def __init__(self, status: int, problem: Mapping[str, Any]) -> None:
        super().__init__(status, problem)
        self.status = status
        self.problem = problem

    @property
    def code(self) -> str:
        """The last part of the problem's type (``"not-approved"``)."""
        return str(self.problem.get("type", "")).rsplit("/", 1)[-1]

    @property
    def words(self) -> str:
        """What to show to the person."""
        title, detail = str(self.problem.get("title", "")), str(self.problem.get("detail", ""))
        return detail or title or "The service could not answer. Try again in a moment."

    @property
    def fields(self) -> dict[str, str]:
        """What is wrong by field."""
        return {str(p["field"]): str(p["message"]) for p in self.problem.get("problems", ())}


@dataclass(frozen=True)
class Reply:
    """A yes of the API."""

    json: Any
    headers: httpx2.Headers
    content: bytes

    @property
    def cookies(self) -> list[str]:
        """``Set-Cookie`` headers, to be handed on to the browser."""
        return list(self.headers.get_list("set-cookie"))


class Api:
    """The API as one visitor sees it; ``order_id`` says which of their orders they mean."""

    def __init__(self, request: Request, order_id: str | None = None) -> None:
        self._app: ASGIApp = request.scope["slatproof.api"]
        host = request.client.host if request.client else "127.0.0.1"
        self._client = (host, request.client.port if request.client else 0)
        scheme = "https" if getattr(request.state, "secure", False) else request.url.scheme
        self._base = f"{scheme}://{request.headers.get('host', 'localhost')}"
        self._headers = {name: request.headers[name] for name in _PASSED_ON if name in request.headers}
        if order_id is not None:
            self._headers[ORDER_HEADER] = order_id

    def use_link(self, secret: str) -> None:
        """Speak with a client's link instead of the browser's cookies."""
        self._headers.pop("cookie", None)
        self._headers["Authorization"] = f"Bearer {secret}"

    async def get(self, path: str, **query: Any) -> Any:
        """The JSON at a path. Raises Refused."""
        given = {key: value for key, value in query.items() if value not in (None, "", [], ())}
        return (await self.send("GET", path, query=given)).json

    async def ask(self, question: str, **variables: Any) -> Any:
        """What GraphQL answers to a question: for pages that show many things at once. Raises Refused."""
        answer = await self._request(
            "POST", "/graphql", self._headers, json={"query": question, "variables": variables}
        )
        body = answer.json()
        if answer.status_code >= 400 or body.get("errors"):
            detail = body["errors"][0]["message"] if body.get("errors") else ""
            raise Refused(max(answer.status_code, 400), {"title": "It cannot be shown", "detail": detail})
        return body["data"]

    async def send(
        self,
        method: str,
        path: str,
        body: Any = None,
        *,
        revision: int | None = None,
        once: str | None = None,
        content: bytes | None = None,
        headers: Mapping[str, str] | None = None,
        query: Mapping[str, Any] | None = None,
    ) -> Reply:
        """Any call. Raises Refused.

        Args:
            method, path: as the reference names them, below ``/api/v1``.
            body: sent as JSON.
            revision: what the visitor saw, for ``If-Match``.
            once: an idempotency key.
            content: bytes to send instead of JSON, described by ``headers``.
            headers: more of them.
            query: the query.
        """
        sent = dict(self._headers) | dict(headers or {})
        if revision is not None:
            sent["If-Match"] = f'"{revision}"'
        if once:
            sent["Idempotency-Key"] = once
        answer = await self._request(method, API + path, sent, params=query, content=content, json=body)
        kind = answer.headers.get("content-type", "")
        json = answer.json() if "json" in kind and answer.content else None
        if answer.status_code >= 400:
            raise Refused(answer.status_code, json if isinstance(json, dict) else {})
        return Reply(json, answer.headers, answer.content)

    async def _request(
        self, method: str, path: str, headers: Mapping[str, str], **more: Any
    ) -> httpx2.Response:
        transport = httpx2.ASGITransport(app=self._app, client=self._client)
        async with httpx2.AsyncClient(transport=transport, base_url=self._base) as client:
            return await client.request(method, path, headers=headers, **more)
