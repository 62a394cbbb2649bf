"""The REST door's page: every operation, what it takes and gives, and every named type."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from functools import cache
from typing import Any

from markupsafe import Markup
from starlette.requests import Request
from starlette.responses import Response

from service.rest import problems
from service.rest.openapi import document
from service.rest.openapi_parts import answers_of, named_problems
from service.rest.reference.drawing import page
from service.rest.reference.schemas import Field, fields_of, kind_of, shapes


@dataclass(frozen=True)
class Answer:
    """One status an operation may answer with."""

    status: str
    words: str
    kind: Markup


@dataclass(frozen=True)
class Described:
    """One operation as it is shown."""

    name: str
    method: str
    path: str
    summary: str
    words: str
    parameters: tuple[Field, ...]
    body: tuple[tuple[str, Markup, tuple[Field, ...]], ...]
    answers: tuple[Answer, ...]


async def rest_page(_request: Request) -> Response:
    """The page of the REST door."""
    return _drawn()


@cache
def _drawn() -> Response:
    made = document()
    groups: dict[str, list[Described]] = {tag["name"]: [] for tag in made["tags"]}
    for path, methods in made["paths"].items():
        for method, operation in methods.items():
            groups[operation["tags"][0]].append(_described(method, path, operation))
    return page(
        "rest.html",
        info=made["info"],
        server=made["servers"][0]["url"],
        groups=groups,
        shapes=shapes(made["components"]["schemas"]),
        problems=problems.KINDS.values(),
    )


def _described(method: str, path: str, operation: Mapping[str, Any]) -> Described:
    parameters = (
        Field(each["name"], kind_of(each["schema"]), each.get("required", False), each.get("description", ""),
              each["in"])
        for each in operation["parameters"]
    )  # fmt: skip
    return Described(
        name=operation["operationId"],
        method=method.upper(),
        path=path,
        summary=operation["summary"],
        words=operation.get("description", ""),
        parameters=tuple(parameters),
        body=tuple(_bodies(operation.get("requestBody", {}))),
        answers=tuple(_answers(answers_of(document(), operation))),
    )


def _bodies(body: Mapping[str, Any]) -> Iterator[tuple[str, Markup, tuple[Field, ...]]]:
    for media, content in body.get("content", {}).items():
        schema = content["schema"]
        fields = fields_of(schema)
        yield media, Markup() if fields else kind_of(schema), fields


def _answers(responses: Mapping[str, Any]) -> Iterator[Answer]:
    for status, answer in sorted(responses.items()):
        content = answer.get("content", {})
        if problems.MEDIA_TYPE in content:
            yield Answer(status, "", _kinds(answer))
            continue
        given = (
            Markup("<code>{}</code>").format(media)
            if "schema" not in each or each["schema"].get("format") == "binary"
            else kind_of(each["schema"])
            for media, each in content.items()
        )
        yield Answer(status, answer["description"], Markup(" or ").join(given))


def _kinds(answer: Mapping[str, Any]) -> Markup:
    """The problems that an answer names, each leading to its page."""
    found = (problems.KINDS[code] for code in named_problems(answer))
    one = Markup('<a href="{}">{}</a>: {}')
    return Markup("; ").join(one.format(kind.uri, kind.code, kind.title) for kind in found)
