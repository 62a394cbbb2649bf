"""Resumable uploads in the OpenAPI document: they are no rows of the table, because tus answers by headers."""

from __future__ import annotations

from typing import Any

from service.rest import problems
from service.rest.headers import references
from service.rest.openapi_parts import OF_PROBLEMS, PROBLEM, WITH, path_parameters
from service.rest.resumable import PART, VERSION
from service.rest.scopes import who_may

_TAG = "Artwork and carvings"
_SHARED = ("400", "401", "403", "404", "412", "429")
_TITLES = {
    "400": "A header is not well formed.",
    "401": "Nobody is signed in.",
    "403": "You may not do this.",
    "404": "There is no such upload, or no more.",
    "409": "The upload is at another place, or the order takes no more files.",
    "412": "Another version of tus is spoken here.",
    "421": "The request is for another name.",
    "413": "The file is too large.",
    "415": "Parts are sent as `application/offset+octet-stream`.",
    "422": "What is said of the file cannot be used.",
    "429": "Too many requests.",
    "503": "Too much to do at the moment.",
}


def uploads_of_order() -> dict[str, Any]:
    """``/orders/{order}/uploads``."""
    words = "`filename`, `filetype` and `carvings` (ids, separated by commas), each with its value in base64"
    given = [
        _taken("Upload-Length", "bytes of the whole file", "integer", minimum=0, maximum=10 * 1024 * 1024),
        _taken("Upload-Metadata", words, "string"),
    ]
    begin = _operation(
        "beginUpload",
        "Begin an upload that can be gone on with where the line breaks.",
        "/orders/{order}/uploads",
        given,
        success=(
            "201",
            "It can be sent to `Location`.",
            ("Location", "Upload-Expires", "RateLimit-Policy", "RateLimit"),
        ),
        more=("409", "413", "422"),
    )
    return {"post": begin, "options": _told()}


def upload() -> dict[str, Any]:
    """``/uploads/{upload}``."""
    path = "/uploads/{upload}"
    part = {"required": True, "content": {PART: {"schema": {"type": "string", "format": "binary"}}}}
    offset = _taken("Upload-Offset", "how many bytes were there before this part", "integer")
    far = ("Upload-Offset", "Upload-Length", "Upload-Expires")
    look = _operation("getUpload", "Get how far an upload is.", path, [], success=("200", "So far.", far))
    more = _operation(
        "continueUpload",
        "Send what follows; with the last byte the file is on its carvings.",
        path,
        [offset],
        success=("204", "Taken.", ("Upload-Offset", "Upload-Expires")),
        more=("409", "413", "415", "422", "503"),
    )
    drop = _operation("dropUpload", "Let go of an upload.", path, [], success=("204", "Gone.", ()))
    return {"head": look, "patch": more | {"requestBody": part}, "delete": drop}


def _operation(
    name: str,
    does: str,
    path: str,
    takes: list[dict[str, Any]],
    *,
    success: tuple[str, str, tuple[str, ...]],
    more: tuple[str, ...] = (),
) -> dict[str, Any]:
    status, words, headers = success
    told = references("X-Request-Id", "Cache-Control", "Tus-Resumable", *headers)
    return {
        "operationId": name,
        "summary": does,
        "description": "By tus 1.0.0, with creation, termination and expiration. "
        + who_may(name, open_to_all=False),
        "tags": [_TAG],
        "parameters": [*path_parameters(path), _version(), *takes],
        "responses": {status: {"description": words, "headers": told}}
        | {each: _failure(each, head=name == "getUpload") for each in sorted((*_SHARED, *more))},
    }


def _failure(status: str, *, head: bool) -> dict[str, Any]:
    names = ("Tus-Version",) if status == "412" else ("Upload-Offset",) if status == "409" else ()
    told = references(
        "X-Request-Id",
        "Cache-Control",
        *OF_PROBLEMS,
        "Tus-Resumable",
        *names,
        *WITH.get(status, ()),
    )
    body = {} if head else {"content": {problems.MEDIA_TYPE: {"schema": PROBLEM}}}
    return {"description": _TITLES[status], "headers": told} | body


def _told() -> dict[str, Any]:
    names = ("Tus-Resumable", "Tus-Version", "Tus-Extension", "Tus-Max-Size")
    return {
        "operationId": "getUploadProtocol",
        "summary": "Get which tus is spoken here.",
        "description": who_may("getUploadProtocol", open_to_all=True),
        "tags": [_TAG],
        "security": [{}],
        "parameters": path_parameters("{order}"),
        "responses": {
            "204": {"description": "This.", "headers": references("X-Request-Id", *names)},
            "421": _failure("421", head=False),
        },
    }


def _version() -> dict[str, Any]:
    return _taken("Tus-Resumable", "the version of tus that is spoken", "string") | {"example": VERSION}


def _taken(name: str, words: str, kind: str, **limits: int) -> dict[str, Any]:
    return {
        "name": name,
        "in": "header",
        "required": True,
        "description": words,
        "schema": {"type": kind, **limits},
    }
