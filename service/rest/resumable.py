"""Uploads that go on where the line broke: tus 1.0.0 (https://tus.io/protocols/resumable-upload).

Its core protocol and the extensions creation, termination and expiration. Why this protocol: docs/adr/0022.
"""

from __future__ import annotations

import base64
import binascii
from collections.abc import Callable
from email.utils import format_datetime
from typing import Any

from anyio import to_thread
from starlette.requests import ClientDisconnect, Request
from starlette.responses import Response

from service.access.networks import network_of
from service.orders.actors import Actor
from service.orders.errors import FieldError, InvalidError, StaleError
from service.orders.ids import is_id
from service.orders.uploads import OpenUpload
from service.rest import problems
from service.rest.operation import Pipeline
from service.rest.pipeline import Endpoint, problem_of
from service.rest.receiving import TooLargeError, WrongTypeError, chunks_within, content_type
from service.rest.understanding import BadRequestError, need_actor, who_asks
from service.rest.whence import own_address_of
from service.store import wall
from service.usecases import uploading

VERSION = "1.0.0"
PART = "application/offset+octet-stream"
_LONGEST_FIELDS = 20_000
_SPOKEN = {"Tus-Resumable": VERSION, "Cache-Control": "no-store"}


class Resumable:
    """The endpoints, by method."""

    def __init__(self, pipeline: Pipeline) -> None:
        self._pipeline = pipeline

    def collection(self) -> dict[str, Endpoint]:
        """Of ``/orders/{order}/uploads``."""
        return {"POST": self._spoken(self._begin), "OPTIONS": self._tell}

    def one(self) -> dict[str, Endpoint]:
        """Of ``/uploads/{upload}``."""
        by_method = {
            "HEAD": self._spoken(self._look),
            "PATCH": self._spoken(self._go_on),
            "DELETE": self._spoken(self._drop),
            "OPTIONS": self._tell,
        }

        async def overridden(request: Request) -> Response:
            meant = by_method.get(request.headers.get("x-http-method-override", ""))
            if meant is None:
                return problems.answer(problems.KINDS["method-not-allowed"], headers={"Allow": "PATCH"})
            return await meant(request)

        return {**by_method, "POST": overridden}

    async def _tell(self, _request: Request) -> Response:
        """What is spoken here."""
        told = {
            "Tus-Resumable": VERSION,
            "Tus-Version": VERSION,
            "Tus-Extension": "creation,termination,expiration",
            "Tus-Max-Size": str(self._pipeline.upload_limit),
        }
        return Response(None, 204, headers=told)

    def _spoken(self, handler: Endpoint) -> Endpoint:
        async def respond(request: Request) -> Response:
            if request.headers.get("tus-resumable") != VERSION:
                return problems.answer(
                    problems.KINDS["other-tus"], headers={"Tus-Version": VERSION, "Tus-Resumable": VERSION}
                )
            try:
                answer = await handler(request)
            except StaleError as stale:
                answer = problems.answer(
                    problems.KINDS["other-offset"],
                    f"{stale.current} bytes are here.",
                    headers={"Upload-Offset": str(stale.current)},
                )
            except Exception as error:  # noqa: BLE001 - errors become answers
                answer = problem_of(error)
            answer.headers["Tus-Resumable"] = VERSION
            return answer

        return respond

    async def _run(self, request: Request, work: Callable[[Actor], Any]) -> Any:
        def working() -> Any:
            actor = need_actor(who_asks(self._pipeline.ctx, request, None))
            with wall.serving(actor.workshop_id):
                return work(actor)

        return await to_thread.run_sync(working, limiter=self._pipeline.threads)

    async def _begin(self, request: Request) -> Response:
        length = _whole_number(request, "upload-length")
        if length > self._pipeline.upload_limit:
            raise TooLargeError(self._pipeline.upload_limit)
        fields = _fields(request.headers.get("upload-metadata", ""))
        order, ctx = request.path_params["order"], self._pipeline.ctx
        made = await self._run(
            request, lambda actor: uploading.begin_upload(ctx, actor, order, length, fields)
        )
        headers = _SPOKEN | _until(made) | {"Location": f"/api/v1/uploads/{made.id}"}
        return Response(None, 201, headers=headers)

    async def _look(self, request: Request) -> Response:
        upload, ctx = request.path_params["upload"], self._pipeline.ctx
        found: OpenUpload = await self._run(request, lambda actor: uploading.get_upload(ctx, actor, upload))
        told = {"Upload-Offset": str(found.taken), "Upload-Length": str(found.length)}
        return Response(None, 200, headers=_SPOKEN | _until(found) | told)

    async def _go_on(self, request: Request) -> Response:
        if content_type(request.headers) != PART:
            raise WrongTypeError(PART)
        offset = _whole_number(request, "upload-offset")
        upload, ctx = request.path_params["upload"], self._pipeline.ctx
        open_one: OpenUpload = await self._run(
            request, lambda actor: uploading.get_upload(ctx, actor, upload)
        )
        if offset != open_one.taken:
            raise StaleError(open_one.taken)
        whence = network_of(own_address_of(ctx, request))
        async with self._pipeline.room.place(open_one.order_id, whence):
            part = await _part(request, open_one.length - offset)
            now, _order = await self._run(
                request, lambda actor: uploading.go_on(ctx, actor, upload, offset, part)
            )
        return Response(None, 204, headers=_SPOKEN | _until(now) | {"Upload-Offset": str(now.taken)})

    async def _drop(self, request: Request) -> Response:
        upload, ctx = request.path_params["upload"], self._pipeline.ctx
        await self._run(request, lambda actor: uploading.drop_upload(ctx, actor, upload))
        return Response(None, 204, headers=_SPOKEN)


async def _part(request: Request, most: int) -> bytes:
    """What came, also where the line broke before its end. TooLargeError."""
    parts: list[bytes] = []
    try:
        async for chunk in chunks_within(request, most):
            parts.append(chunk)  # noqa: PERF401 - what came before the line broke is kept
    except ClientDisconnect:
        pass  # its sender asks how far it came, and goes on from there
    return b"".join(parts)


def _until(upload: OpenUpload) -> dict[str, str]:
    return {"Upload-Expires": format_datetime(upload.expires_at, usegmt=True)}


def _whole_number(request: Request, name: str) -> int:
    given = request.headers.get(name, "")
    if not given.isascii() or not given.isdecimal() or len(given) > 12:
        raise BadRequestError(f"{name} must be a whole number.")
    return int(given)


def _fields(given: str) -> dict[str, str]:
    """``Upload-Metadata``: names with their values in base64."""
    if len(given) > _LONGEST_FIELDS:
        raise BadRequestError("Upload-Metadata is too long.")
    found: dict[str, str] = {}
    try:
        for pair in filter(None, (part.strip() for part in given.split(","))):
            name, _, value = pair.partition(" ")
            found[name] = base64.b64decode(value, validate=True).decode()
    except (binascii.Error, ValueError) as error:
        raise BadRequestError("Upload-Metadata has values that are not base64 of UTF-8.") from error
    wrong = [each for each in filter(None, found.get("carvings", "").split(",")) if not is_id(each)]
    if wrong:
        raise InvalidError(
            FieldError("carvings", "not-an-id", "Name the carvings by their ids, separated by commas.")
        )
    return {name: found[name] for name in ("filename", "filetype", "carvings") if name in found}
