"""Bodies as they come in: never more of them than is taken, never trusted for what they say they are."""

from __future__ import annotations

import re
from collections.abc import AsyncGenerator, AsyncIterator
from urllib.parse import unquote

from starlette.datastructures import FormData, Headers, UploadFile
from starlette.formparsers import MultiPartException, MultiPartParser
from starlette.requests import ClientDisconnect, Request

from service.rest.operation import Received

_NAME = re.compile(r"filename\*=UTF-8''([^;]+)|filename=\"([^\"]*)\"|filename=([^;\s]+)", re.IGNORECASE)
LONGEST_NAME = 255
JSON_TYPES = (("application/json",), ("application/json", "application/merge-patch+json"))
"""What a body of JSON is called; a change also by the name of RFC 7396."""
_MEGA = 1024 * 1024
_FORM_OVERHEAD = 64 * 1024
"""Boundaries, part headers and the other fields of a form, bytes."""


class TooLargeError(Exception):
    """The body is larger than is taken."""

    def __init__(self, limit: int) -> None:
        super().__init__(limit)
        self.limit = limit

    @property
    def told(self) -> str:
        """The limit as people say it."""
        mega = self.limit / _MEGA
        return f"{mega:.3g} MB" if mega >= 1 else f"{self.limit // 1024} kB"


class UnreadableError(Exception):
    """The body is not what its content type says."""


class WrongTypeError(Exception):
    """The content type is not taken."""


async def read_body(request: Request, limit: int) -> bytes:
    """The whole body. Raises TooLargeError as soon as that is known, Unreadable where the sender went away."""
    declared = request.headers.get("content-length", "")
    if declared.isdecimal() and int(declared) > limit:
        raise TooLargeError(limit)
    try:
        return b"".join([chunk async for chunk in chunks_within(request, limit)])
    except ClientDisconnect as error:
        raise UnreadableError("the connection was closed before the whole body had come") from error


async def chunks_within(request: Request, limit: int) -> AsyncIterator[bytes]:
    """The body as it comes. TooLargeError, ClientDisconnect."""
    size = 0
    async for chunk in request.stream():
        size += len(chunk)
        if size > limit:
            raise TooLargeError(limit)
        yield chunk


def content_type(headers: Headers) -> str:
    """The media type alone, in lower case."""
    return headers.get("content-type", "").partition(";")[0].strip().lower()


async def read_json(request: Request, limit: int) -> bytes:
    """A JSON body, not parsed yet. Raises WrongTypeError, TooLargeError, Unreadable."""
    taken = JSON_TYPES[request.method == "PATCH"]
    if content_type(request.headers) not in taken:
        raise WrongTypeError(" or ".join(taken))
    return await read_body(request, limit)


async def read_file(request: Request, limit: int) -> Received:
    """The one file of an upload: a multipart form's part named ``file``, or the body itself.

    A raw body's name comes from ``Content-Disposition``, its other fields from the query.

    Raises WrongTypeError, TooLargeError, Unreadable.
    """
    kind = content_type(request.headers)
    if kind == "multipart/form-data":
        try:
            body = await read_body(request, limit + _FORM_OVERHEAD)
        except TooLargeError:
            raise TooLargeError(limit) from None  # of the file, which is what its sender can make smaller
        return await _from_form(request.headers, body, limit)
    if not kind or kind in ("application/x-www-form-urlencoded", "application/json"):
        raise WrongTypeError("multipart/form-data with a part named file, or the file's own type")
    fields = {key: tuple(request.query_params.getlist(key)) for key in request.query_params}
    name = _name_in(request.headers.get("content-disposition", ""))
    return Received(await read_body(request, limit), name, kind, fields)


async def _from_form(headers: Headers, body: bytes, limit: int) -> Received:
    async def once() -> AsyncGenerator[bytes, None]:
        yield body

    try:
        form = await MultiPartParser(headers, once(), max_files=1, max_fields=220).parse()
    except (MultiPartException, KeyError, UnicodeDecodeError) as error:
        raise UnreadableError(
            str(getattr(error, "message", error)) or "the form is not well formed"
        ) from error
    try:
        return await _pick(form, limit)
    finally:
        await form.close()


async def _pick(form: FormData, limit: int) -> Received:
    file = form.get("file")
    if not isinstance(file, UploadFile):
        raise UnreadableError("the form needs a part named file that holds the artwork")
    data = await file.read()
    if len(data) > limit:
        raise TooLargeError(limit)
    fields = {
        key: tuple(value for value in form.getlist(key) if isinstance(value, str))
        for key in form
        if key != "file"
    }
    return Received(data, file.filename or "", file.content_type or "application/octet-stream", fields)


def _name_in(disposition: str) -> str:
    found = _NAME.search(disposition)
    if found is None:
        return ""
    encoded, quoted, bare = found.groups()
    return (unquote(encoded) if encoded else quoted or bare or "")[:LONGEST_NAME]
