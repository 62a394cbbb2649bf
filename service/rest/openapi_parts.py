"""Parts of the OpenAPI document that operations share: addresses, files, problems, who asks."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Mapping
from typing import Any, Final

from service.access.resolve import COOKIE_CLIENT, COOKIE_SESSION
from service.orders.glossary import words_for
from service.rest import problems
from service.rest.operation import Operation

WITH: Final = {
    "401": ("WWW-Authenticate",),
    "429": ("Retry-After", "RateLimit-Policy", "RateLimit"),
    "503": ("Retry-After",),
}
"""Status → headers that come with it."""
OF_PROBLEMS: Final = ("Vary", "Content-Encoding", "Content-Language")
PROBLEM: Final = {"$ref": "#/components/schemas/Problem"}
_SHARED: Final = "#/components/responses/"


def named_problems(answer: Mapping[str, Any]) -> list[str]:
    """Codes of the problems that an answer's description names."""
    return re.findall(r"`([a-z-]+)`:", answer["description"])


def share_answers(paths: dict[str, dict[str, Any]]) -> dict[str, Any]:
    """Answers that operations share, by name, to which the operations are made to refer.

    Shared is what two operations give, where it has a name to be found by: that of its problems. Written out, refusals
    were nine tenths of the document.
    """
    counted = Counter(
        (status, repr(answer)) for op in _operations(paths) for status, answer in op["responses"].items()
    )
    shared: dict[str, Any] = {}
    for op in _operations(paths):
        for status, answer in op["responses"].items():
            codes = ["unchanged"] if status == "304" else named_problems(answer)
            name = "Or".join(code.title().replace("-", "") for code in codes)
            if name and counted[status, repr(answer)] > 1 and shared.setdefault(name, answer) == answer:
                op["responses"][status] = {"$ref": _SHARED + name}
    return dict(sorted(shared.items()))


def answers_of(document: Mapping[str, Any], operation: Mapping[str, Any]) -> dict[str, Any]:
    """Status → answer of an operation, shared ones written out."""
    shared = document["components"]["responses"]
    return {
        status: shared[answer["$ref"].removeprefix(_SHARED)] if "$ref" in answer else answer
        for status, answer in operation["responses"].items()
    }


def _operations(paths: dict[str, dict[str, Any]]) -> list[dict[str, Any]]:
    return [op for methods in paths.values() for op in methods.values()]


def path_parameters(path: str) -> list[dict[str, Any]]:
    """Parameters of an address."""
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


def file_body(op: Operation) -> dict[str, Any]:
    """The body of an operation that takes a file: a form, or the file itself with the fields in the address."""
    fields = {name: {"type": "string", "description": field.words} for name, field in op.fields.items()}
    file = {
        "type": "string",
        "format": "binary",
        "contentMediaType": "application/octet-stream",
        "description": "the file itself; its name is taken from the part",
    }
    required = ["file", *(name for name, field in op.fields.items() if field.required)]
    form = {"type": "object", "required": required, "properties": {"file": file} | fields}
    return {
        "required": True,
        "content": {
            "multipart/form-data": {"schema": form},
            "application/octet-stream": {"schema": {"type": "string", "format": "binary"}},
        },
    }


def file_parameters(op: Operation) -> list[dict[str, Any]]:
    """The form's other fields as they are sent with a raw body."""
    return [
        {
            "name": name,
            "in": "query",
            "description": f"{field.words} (raw bodies only)",
            "schema": {"type": "string"},
        }
        for name, field in op.fields.items()
    ]


def problem_schema() -> dict[str, Any]:
    """What a problem looks like."""
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


def security() -> dict[str, Any]:
    """The ways to say who asks."""
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
