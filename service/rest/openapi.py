"""The OpenAPI 3.1 document, made from the table of operations and the types that they take and give."""

from __future__ import annotations

from functools import cache
from typing import Any

from pydantic import TypeAdapter
from pydantic.json_schema import JsonSchemaMode

from service import VERSION
from service.orders.glossary import words_for
from service.rest import problems
from service.rest.describing import classes, describe
from service.rest.examples import example_of
from service.rest.headers import HEADERS, references
from service.rest.openapi_events import order_events, workshop_events
from service.rest.openapi_parts import (
    OF_PROBLEMS,
    PROBLEM,
    WITH,
    file_body,
    file_parameters,
    path_parameters,
    problem_schema,
    security,
    share_answers,
)
from service.rest.openapi_uploads import upload, uploads_of_order
from service.rest.openapi_words import INTRODUCTION, TAGS
from service.rest.operation import Operation
from service.rest.raw_json import adapter
from service.rest.receiving import JSON_TYPES
from service.rest.requests.base import PageQuery
from service.rest.scopes import SCOPES, takes_tokens, who_may
from service.rest.table import OPERATIONS
from service.rest.understanding import LONGEST_KEY

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
_TEMPLATE = "#/components/schemas/{model}"


@cache
def document() -> dict[str, Any]:
    """The whole document."""
    schemas, definitions = _schemas()
    taken = (each for op in OPERATIONS for each in (op.gives, op.ask) if each is not None)
    describe(definitions, classes(*taken))
    definitions["Problem"] = problem_schema()
    paths: dict[str, dict[str, Any]] = {}
    for operation in OPERATIONS:
        paths.setdefault(operation.path, {})[operation.method.lower()] = _operation(operation, schemas)
    paths["/orders/{order}/events"] = {"get": order_events()}
    paths["/events/stream"] = {"get": workshop_events()}
    paths["/orders/{order}/uploads"] = uploads_of_order()
    paths["/uploads/{upload}"] = upload()
    examples = _examples(paths, definitions)
    return {
        "openapi": "3.1.1",
        "info": {
            "title": "Slatproof",
            "version": VERSION,
            "description": INTRODUCTION,
            "license": {"name": "GPL-2.0-or-later", "identifier": "GPL-2.0-or-later"},
        },
        "servers": [{"url": "/api/v1"}],
        "security": [{"bearer": []}, {"signedIn": []}, {"openedLink": []}],
        "tags": [
            {"name": tag, "description": TAGS[tag]} for tag in dict.fromkeys(op.tag for op in OPERATIONS)
        ],
        "paths": paths,
        "components": {
            "schemas": definitions,
            "securitySchemes": security(),
            "headers": HEADERS,
            "responses": share_answers(paths),
            "examples": examples,
        },
    }


def _examples(paths: dict[str, dict[str, Any]], definitions: dict[str, Any]) -> dict[str, Any]:
    """An example of each body, to which the bodies are made to refer."""
    made: dict[str, Any] = {}
    for methods in paths.values():
        for op in methods.values():
            answers = [(each.get("content", {}), op["operationId"]) for each in op["responses"].values()]
            for content, name in [
                (op.get("requestBody", {}).get("content", {}), op["operationId"] + "Body"),
                *answers,
            ]:
                for kind, media in content.items():
                    _give_example(kind, media, name, definitions, made)
    return dict(sorted(made.items()))


def _give_example(
    kind: str, media: dict[str, Any], name: str, definitions: Any, made: dict[str, Any]
) -> None:
    if "json" not in kind:
        return
    name = media["schema"].get("$ref", name).rsplit("/", 1)[-1]
    made.setdefault(name, {"value": example_of(media["schema"], definitions)})
    media["examples"] = {"usual": {"$ref": f"#/components/examples/{name}"}}


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
        "parameters": [*path_parameters(op.path), *_query_parameters(op), *_header_parameters(op)],
        "responses": _responses(op, schemas),
    }
    words = (
        op.deprecated.words if op.deprecated else "",
        op.more,
        op.at_rest,
        who_may(op.name, open_to_all=op.open or op.public),
    )
    if any(words):
        described["description"] = " ".join(filter(None, words))
    if op.name in SCOPES:
        described["security"] = [{"bearer": [SCOPES[op.name].value]}, {"signedIn": []}, {"openedLink": []}]
    if op.ask is not None:
        schema = schemas[op.name, "validation"]
        kinds = JSON_TYPES[op.method == "PATCH"]
        described["requestBody"] = {"required": True, "content": {kind: {"schema": schema} for kind in kinds}}
    if op.takes_file:
        described["requestBody"] = file_body(op)
    if op.deprecated is not None:
        described["deprecated"] = True
    if op.public or op.open:
        described["security"] = [{}, {"bearer": []}, {"signedIn": []}]
    return described


def _query_parameters(op: Operation) -> list[dict[str, Any]]:
    found = file_parameters(op) if op.takes_file else []
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
    always = ["X-Request-Id", "Cache-Control", *(("Deprecation", "Sunset", "Link") if op.deprecated else ())]
    always += ["RateLimit-Policy", "RateLimit"] if "too-many" in _codes(op) else []
    headers = list(always)
    headers += ["Vary", "Content-Encoding"] if op.gives is not None or op.file else []
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
            "headers": references(*always, "ETag", "Vary"),
        }
    if op.file:
        part = references(*headers, "Content-Range")
        responses["206"] = success | {"description": "A part of it.", "headers": part}
    for status, codes in _by_status(_codes(op)).items():
        titles = "; ".join(f"`{code}`: {problems.KINDS[code].title}" for code in codes)
        told = references(*dict.fromkeys((*always, *OF_PROBLEMS, *WITH.get(status, ()))))
        content = {problems.MEDIA_TYPE: {"schema": PROBLEM}}
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
    if op.takes_file or takes_tokens(op.name, open_to_all=op.open or op.public):
        codes += ["too-many"]
    return tuple(dict.fromkeys([*codes, *op.problems]))


def _by_status(codes: tuple[str, ...]) -> dict[str, list[str]]:
    grouped: dict[str, list[str]] = {}
    for code in codes:
        grouped.setdefault(str(problems.KINDS[code].status), []).append(code)
    return dict(sorted(grouped.items()))
