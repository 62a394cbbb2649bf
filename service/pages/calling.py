"""The operations of the public API, as pages call them: in process, as the visitor."""

from __future__ import annotations

import logging
from dataclasses import replace
from typing import Any

import httpx2
from starlette.requests import Request
from starlette.types import ASGIApp

from service.language.chosen import _
from service.language.phrasebook import told_answer
from service.rest.in_process import PASSED_ON, Asked, CallError, InProcess, Reply, Visit
from service.rest.operation import Received

__all__ = ["SECOND_STEP_DUE", "Api", "CallError", "open_visit"]

SECOND_STEP_DUE = "second-step-due"
"""Code of the problem that whoever has to set a second step up meets everywhere else."""
_VISIT = "slatproof.visit"
# A call within the process is part of the request that is logged already.
logging.getLogger("httpx2").setLevel(logging.WARNING)

WHO_ASKS = frozenset({401, 403, 404})
"""Answers about who asks; any other no to a proposal leaves the page as it is without it."""


def open_visit(request: Request, operations: InProcess) -> Visit:
    """The one visit of a page request; every :class:`Api` of the request speaks through it."""
    visit = operations.visit(request)
    request.scope[_VISIT] = visit
    return visit


def visit_of(request: Request) -> Visit:
    """The visit of a page request."""
    visit: Visit = request.scope[_VISIT]
    return visit


class Api:
    """The operations as one visitor sees them; ``order_id`` says which of their orders they mean."""

    def __init__(self, request: Request, order_id: str | None = None, *, link: str | None = None) -> None:
        """Somebody's calls.

        Args:
            request: the page's; its cookies say who calls.
            order_id: which of a client's orders is meant.
            link: the secret of a client's link, to speak with instead of the cookies.
        """
        self._request = request
        self._visit = visit_of(request)
        self._order_id = order_id
        self._link = link
        self.act = self._visit.act

    async def get(self, path: str, **query: Any) -> Any:
        """The JSON at a path. CallError."""
        given = {key: value for key, value in query.items() if value not in (None, "", [], ())}
        return told_answer((await self._call(Asked("GET", path, query=given))).json)

    async def look_again(self) -> None:
        """Let go of what was seen: what is asked from now on is as it is then."""
        await self._visit.look_again()

    async def ask(self, question: str, **variables: Any) -> Any:
        """What GraphQL answers to a question: for lists of orders with a little of what is in each. CallError."""
        await self._visit.rest()
        scheme = "https" if getattr(self._request.state, "secure", False) else self._request.url.scheme
        base = f"{scheme}://{self._request.headers.get('host', 'localhost')}"
        client = self._request.client
        app: ASGIApp = self._request.scope["slatproof.api"]
        transport = httpx2.ASGITransport(app=app, client=(client.host, client.port) if client else ("", 0))
        headers = {name: self._request.headers[name] for name in PASSED_ON if name in self._request.headers}
        async with httpx2.AsyncClient(transport=transport, base_url=base) as caller:
            asked = {"query": question, "variables": variables}
            answer = await caller.post("/graphql", headers=headers, json=asked)
        body = answer.json()
        if answer.status_code >= 400 or body.get("errors"):
            detail = body["errors"][0]["message"] if body.get("errors") else ""
            raise CallError(
                max(answer.status_code, 400), {"title": _("It cannot be shown"), "detail": detail}
            )
        return told_answer(body["data"])

    async def send(
        self,
        method: str,
        path: str,
        body: Any = None,
        *,
        revision: int | None = None,
        once: str | None = None,
        file: Received | None = None,
    ) -> Reply:
        """Any call. CallError.

        Args:
            method, path: as the reference names them, below ``/api/v1``.
            body: JSON values.
            revision: what the visitor saw, for ``If-Match``.
            once: an idempotency key.
            file: a file with what is said about it.
        """
        return await self._call(Asked(method, path, body=body, revision=revision, once=once, file=file))

    async def _call(self, asked: Asked) -> Reply:
        return await self._visit.call(replace(asked, order_id=self._order_id, bearer=self._link))
