"""The OpenAPI 3.1 document, made from the table of operations and the types that they take and give."""

from __future__ import annotations

import re
from functools import cache
from typing import Any

from pydantic import TypeAdapter
from pydantic.json_schema import JsonSchemaMode

from service import VERSION
from service.orders.glossary import words_for
from service.rest import problems
from service.rest.describing import classes, describe
from service.rest.headers import HEADERS, references
from service.rest.operation import Operation
from service.rest.pipeline import LONGEST_KEY
from service.rest.raw_json import adapter
from service.rest.receiving import JSON_TYPES
from service.rest.requests.base import PageQuery
from service.rest.scopes import SCOPES, who_may
from service.rest.table import OPERATIONS

_SHARED = (
    "unauthenticated",
    "second-step-due",
    "not-allowed",
    "not-found",
    "bad-request",
    "too-many",
    "fault",
    "overloaded",
)
_WITH = {"401": ("WWW-Authenticate",), "429": ("Retry-After",), "503": ("Retry-After",)}
_TAGS = {
    "Questions": "What client and workshop write to each other about an order; each is told by mail.",
    "What is offered": "Workshops, their models and slats, and typefaces.",
    "Settings": "What a workshop sets: models, bits, allowances, help with figures.",
    "Prices and quotes": "Price lists, and what an order costs.",
    "Items at the bench": "Every slat of every piece, how far it is, and how it came out.",
    "Program check": "Machine programs held against what was signed.",
    "Test boards": "Boards that are cut and measured for the shop's own allowances.",
    "Signing in": "Sessions, links, passwords and the second step.",
    "People and tokens": "Accounts, API tokens, and links of orders.",
    "Orders": "Orders from the draft to the bench.",
    "Artwork and carvings": "Files, how they are read, how art is laid and cut.",
    "Lists and large pictures": "Runs of texts, and pictures over several slats.",
    "Proofs and decisions": "Proofs, and what people decide about them.",
    "Files": "Pictures, drawings, originals, archives.",
    "Background work": "What is done beside the answers, and how to follow it.",
    "Batches": "Released orders exported as archives.",
    "Record and privacy": "The record of decisions, export and erasure.",
    "Events and webhooks": "What happens in the workshop, as a list, as a stream, and sent to other programs.",
    "Upkeep": "Whether everything is well, and work that was given up.",
}
_TEMPLATE = "#/components/schemas/{model}"
_PROBLEM = {"$ref": "#/components/schemas/Problem"}
_INTRODUCTION = """\
Orders for engraved furniture: from a client's logo to approved, carveable art. All lengths are millimetres.

**Who asks.** `Authorization: Bearer …` with the secret of a client's link (one order) or with an API token (a
shop's own site). Browsers use the cookies of a signed-in person or of an opened link.

**Changes.** Whatever changes carries a strong `ETag` that begins with its revision. Send it back in
`If-Match`: without it the answer is 428, with an old one 412. Creating calls take `Idempotency-Key`: the
same call again gives the first answer and does nothing.

**Decisions** name what was shown: the carving, its proof's `digest` and the `picture`. If that is not the
current proof, nothing happens and the answer is 409 `not-current`.

**Problems** are `application/problem+json` (RFC 9457); each `type` is an address that explains it.
"""


@cache
def document() -> dict[str, Any]:
    """The whole document."""
    schemas, definitions = _schemas()
    taken = (each for op in OPERATIONS for each in (op.gives, op.ask) if each is not None)
    describe(definitions, classes(*taken))
    paths: dict[str, dict[str, Any]] = {}
    for operation in OPERATIONS:
        paths.setdefault(operation.path, {})[operation.method.lower()] = _operation(operation, schemas)
    paths["/orders/{order}/events"] = {"get": _events()}
    paths["/events/stream"] = {"get": _workshop_events()}
    return {
        "openapi": "3.1.1",
        "info": {
            "title": "Slatproof",
            "version": VERSION,
            "description": _INTRODUCTION,
            "license": {"name": "GPL-2.0-or-later", "identifier": "GPL-2.0-or-later"},
        },
        "servers": [{"url": "/api/v1"}],
        "security": [{"bearer": []}, {"signedIn": []}, {"openedLink": []}],
        "tags": [
            {"name": tag, "description": _TAGS[tag]} for tag in dict.fromkeys(op.tag for op in OPERATIONS)
        ],
        "paths": paths,
        "components": {
            "schemas": definitions | {"Problem": _problem_schema()},
            "securitySchemes": _security(),
            "headers": HEADERS,
        },
    }


Key = tuple[str, JsonSchemaMode]


def _schemas() -> tuple[dict[Key, Any], dict[str, Any]]:
    inputs: list[tuple[str, JsonSchemaMode, TypeAdapter[Any]]] = []
    for op in OPERATIONS:
        if op.gives is not None:
            inputs.append((op.name, "serialization", adapter(op.gives)))
        if op.ask is not None:
            inputs.append((op.name, "validation", adapter(op.ask)))
    schemas, shared = TypeAdapter.json_schemas(inputs, ref_template=_TEMPLATE)
    return {(str(name), mode): schema for (name, mode), schema in schemas.items()}, shared.get("$defs", {})


def _operation(op: Operation, schemas: dict[Key, Any]) -> dict[str, Any]:
    described: dict[str, Any] = {
        "operationId": op.name,
        "summary": op.does,
        "tags": [op.tag],
        "parameters": [*_path_parameters(op.path), *_query_parameters(op), *_header_parameters(op)],
        "responses": _responses(op, schemas),
    }
    words = (op.more, op.at_rest, who_may(op.name, open_to_all=op.open or op.public))
    if any(words):
        described["description"] = " ".join(filter(None, words))
    if op.name in SCOPES:
        described["security"] = [{"bearer": [SCOPES[op.name].value]}, {"signedIn": []}, {"openedLink": []}]
    if op.ask is not None:
        schema = schemas[op.name, "validation"]
        kinds = JSON_TYPES[op.method == "PATCH"]
        described["requestBody"] = {"required": True, "content": {kind: {"schema": schema} for kind in kinds}}
    if op.takes_file:
        described["requestBody"] = _file_body()
    if op.public or op.open:
        described["security"] = [{}, {"bearer": []}, {"signedIn": []}]
    return described


def _path_parameters(path: str) -> list[dict[str, Any]]:
    forms = {"form": {"type": "string", "enum": ["svg", "dxf", "pdf"]}}
    return [
        {
            "name": name,
            "in": "path",
            "required": True,
            "description": words_for("path", name),
            "schema": forms.get(name, {"type": "string", "minLength": 1, "maxLength": 200}),
        }
        for name in re.findall(r"{(\w+)}", path)
    ]


def _query_parameters(op: Operation) -> list[dict[str, Any]]:
    found: list[dict[str, Any]] = []
    if op.takes_file:
        found.append(
            {
                "name": "carvings",
                "in": "query",
                "description": "ids of the carvings it is for, separated by commas (raw bodies only)",
                "schema": {"type": "string"},
            }
        )
    if op.query is None:
        return found
    schema = op.query.model_json_schema(ref_template=_TEMPLATE)
    definitions = schema.get("$defs", {})
    for name, field in schema["properties"].items():
        plain = _inlined(field, definitions)
        words = plain.pop("description", None) or words_for(op.name, name)
        plain.pop("title", None)
        found.append(
            {"name": name, "in": "query", "schema": plain} | ({"description": words} if words else {})
        )
    return found


def _inlined(schema: Any, definitions: dict[str, Any]) -> Any:
    if isinstance(schema, list):
        return [_inlined(item, definitions) for item in schema]
    if not isinstance(schema, dict):
        return schema
    if "$ref" in schema:
        return _inlined(definitions[schema["$ref"].rsplit("/", 1)[-1]], definitions)
    return {key: _inlined(value, definitions) for key, value in schema.items()}


def _header_parameters(op: Operation) -> list[dict[str, Any]]:
    found: list[dict[str, Any]] = []
    if op.conditional:
        words = "the `ETag` of what you saw, or its revision in quotes"
        found.append(
            {
                "name": "If-Match",
                "in": "header",
                "required": True,
                "description": words,
                "schema": {"type": "string", "pattern": r'^"\d{1,9}(\.[0-9a-f]{16}\.[0-9a-f]{12})?"$'},
                "example": '"3"',
            }
        )
    if op.once:
        found.append(
            {
                "name": "Idempotency-Key",
                "in": "header",
                "description": "any text of your own, good for one call of this operation within 24 hours; the "
                "same call again under it gives the first answer, does nothing, and says so in `Idempotency-Replayed`",
                "schema": {
                    "type": "string",
                    "minLength": 1,
                    "maxLength": LONGEST_KEY,
                    "pattern": r"^[!-~]+$",
                },
            }
        )
    return found


def _responses(op: Operation, schemas: dict[Key, Any]) -> dict[str, Any]:
    success: dict[str, Any] = {"description": "Done."}
    headers = ["X-Request-Id"]
    if op.gives is not None:
        success["content"] = {"application/json": {"schema": schemas[op.name, "serialization"]}}
        headers += ["ETag"] if op.method == "GET" or op.conditional or op.once else []
    if op.status in (201, 202) and op.gives is not None:
        headers += ["Location"] if op.once and not op.takes_file else []
    if op.query is not None and issubclass(op.query, PageQuery):
        headers.append("Link")
    if op.once:
        headers.append("Idempotency-Replayed")
    if op.file:
        headers += ["ETag", "Content-Disposition", "Accept-Ranges"]
        success["content"] = {kind: {"schema": {"type": "string", "format": "binary"}} for kind in op.file}
    success["headers"] = references(*headers)
    responses = {str(op.status): success}
    if op.method == "GET":
        responses["304"] = {
            "description": "You have it already.",
            "headers": references("X-Request-Id", "ETag"),
        }
    if op.file:
        part = references(*headers, "Content-Range")
        responses["206"] = success | {"description": "A part of it.", "headers": part}
    for status, codes in _by_status(_codes(op)).items():
        titles = "; ".join(f"`{code}`: {problems.KINDS[code].title}" for code in codes)
        told = references("X-Request-Id", *_WITH.get(status, ()))
        content = {problems.MEDIA_TYPE: {"schema": _PROBLEM}}
        responses[status] = {"description": titles, "headers": told, "content": content}
    return responses


def _codes(op: Operation) -> tuple[str, ...]:
    codes = list(_SHARED)
    if op.ask is not None or op.takes_file or op.query is not None:
        codes += ["invalid"]
    if op.ask is not None or op.takes_file:
        codes += ["too-large", "unsupported-type"]
    if op.method != "GET":
        codes += ["other-site"]
    if op.conditional:
        codes += ["precondition-required", "stale"]
    if op.file:
        codes += ["range-not-satisfiable"]
    if op.once:
        codes += ["key-reused"]
    return tuple(dict.fromkeys([*codes, *op.problems]))


def _by_status(codes: tuple[str, ...]) -> dict[str, list[str]]:
    grouped: dict[str, list[str]] = {}
    for code in codes:
        grouped.setdefault(str(problems.KINDS[code].status), []).append(code)
    return dict(sorted(grouped.items()))


def _file_body() -> dict[str, Any]:
    form = {
        "type": "object",
        "required": ["file"],
        "properties": {
            "file": {
                "type": "string",
                "format": "binary",
                "contentMediaType": "application/octet-stream",
                "description": "the file itself; its name is taken from the part",
            },
            "carvings": {
                "type": "string",
                "description": "ids of the carvings it is for, separated by commas",
            },
        },
    }
    return {
        "required": True,
        "content": {
            "multipart/form-data": {"schema": form},
            "application/octet-stream": {"schema": {"type": "string", "format": "binary"}},
        },
    }


def _events() -> dict[str, Any]:
    words = (
        "Server-sent events: `order` (`{activity}`) whenever anything within the order changes, `jobs` (the "
        "list of background work) whenever that moves on."
    )
    content = {problems.MEDIA_TYPE: {"schema": _PROBLEM}}
    failures = {
        status: {
            "description": "See `/problems/`.",
            "headers": references("X-Request-Id", *_WITH.get(status, ())),
            "content": content,
        }
        for status in ("401", "404", "429")
    }
    return {
        "operationId": "getOrderEvents",
        "summary": "Follow what happens within an order.",
        "description": words,
        "tags": ["Background work"],
        "parameters": _path_parameters("{order}"),
        "responses": {
            "200": {
                "description": "Events.",
                "headers": references("X-Request-Id"),
                "content": {"text/event-stream": {"schema": {"type": "string"}}},
            }
        }
        | failures,
    }


def _workshop_events() -> dict[str, Any]:
    words = (
        "Server-sent events: each has the event's number as its `id`, its kind as its `event` and the same data as "
        "`listEvents`. A stream that was cut goes on where it was: browsers send `Last-Event-ID` by themselves. "
        "Without it the stream begins with what happens from now on. "
    )
    stream = _events()
    number = {"type": "integer", "minimum": 0}
    failures = {status: stream["responses"][status] for status in ("401", "429")}
    return stream | {
        "operationId": "followEvents",
        "summary": "Follow what happens in the workshop.",
        "description": words + who_may("followEvents", open_to_all=False),
        "tags": ["Events and webhooks"],
        "parameters": [
            {
                "name": "Last-Event-ID",
                "in": "header",
                "description": "number of the last event had; the stream goes on after it",
                "schema": number,
            }
        ],
        "responses": {"200": stream["responses"]["200"], "403": stream["responses"]["401"]} | failures,
    }


def _problem_schema() -> dict[str, Any]:
    field = {
        "type": "object",
        "required": ["field", "code", "message"],
        "properties": {
            "field": {"type": "string", "description": "dotted path into what was sent; empty for the whole"},
            "code": {"type": "string", "description": "what is wrong, for programs"},
            "message": {"type": "string", "description": "what is wrong and what to do, for people"},
        },
    }
    return {
        "type": "object",
        "description": "An answer other than yes (RFC 9457).",
        "required": ["type", "title", "status"],
        "properties": {
            "type": {
                "type": "string",
                "enum": [kind.uri for kind in problems.KINDS.values()],
                "description": "which sort of problem: an address that explains it",
            },
            "title": {"type": "string", "description": "short words, the same every time"},
            "status": {"type": "integer", "description": "the HTTP status"},
            "detail": {"type": "string", "description": "what happened here and what helps"},
            "problems": {
                "type": "array",
                "items": field,
                "description": "each field that is wrong (type `invalid`)",
            },
            "current": {"type": "integer", "description": "the revision now stored (type `stale`)"},
            "code": {"type": "string", "description": "what the engine refuses (type `refused`)"},
        },
    }


def _security() -> dict[str, Any]:
    from service.access.resolve import COOKIE_CLIENT, COOKIE_SESSION

    return {
        "bearer": {
            "type": "http",
            "scheme": "bearer",
            "description": "A link's secret, or an API token.",
        },
        "signedIn": {
            "type": "apiKey",
            "in": "cookie",
            "name": COOKIE_SESSION,
            "description": "The cookie of a person who signed in.",
        },
        "openedLink": {
            "type": "apiKey",
            "in": "cookie",
            "name": COOKIE_CLIENT,
            "description": "The cookie of a browser that opened a client's link.",
        },
    }
