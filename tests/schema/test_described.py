"""Nothing in either contract is without words: fields, arguments, choices, parameters, headers, tags; and scopes."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from graphql import GraphQLEnumType, is_specified_scalar_type

from schema.build import build_schema
from service.rest.openapi import document
from service.rest.openapi_parts import answers_of
from service.rest.scopes import ANY_TOKEN, SCOPES
from service.rest.table import OPERATIONS
from tests.running import API, Running

ACCESS = Path(__file__).parents[1] / "access" / "rest.txt"


def undescribed_of_the_graph() -> Iterator[str]:
    for name, kind in build_schema()._schema.type_map.items():
        if name.startswith("__") or is_specified_scalar_type(kind):
            continue
        if not kind.description:
            yield name
        if isinstance(kind, GraphQLEnumType):
            yield from (f"{name}.{key}" for key, value in kind.values.items() if not value.description)
        for field, each in getattr(kind, "fields", {}).items():
            if not each.description:
                yield f"{name}.{field}"
            yield from (
                f"{name}.{field}({key})"
                for key, argument in getattr(each, "args", {}).items()
                if not argument.description
            )


def test_everything_in_the_graph_is_described():
    assert list(undescribed_of_the_graph()) == []


def undescribed_at_rest() -> Iterator[str]:
    made = document()
    for name, schema in made["components"]["schemas"].items():
        if not schema.get("description"):
            yield name
        yield from (
            f"{name}.{key}"
            for key, each in schema.get("properties", {}).items()
            if not each.get("description")
        )
    for path, methods in made["paths"].items():
        for method, operation in methods.items():
            where = f"{method} {path}"
            if not operation.get("summary"):
                yield where
            yield from (
                f"{where}?{each['name']}" for each in operation["parameters"] if not each.get("description")
            )
            for status, answer in answers_of(made, operation).items():
                if not answer.get("description") or "X-Request-Id" not in answer.get("headers", {}):
                    yield f"{where} {status}"
    for part in ("headers", "securitySchemes"):
        yield from (
            f"{part} {name}" for name, each in made["components"][part].items() if not each.get("description")
        )
    yield from (f"tag {tag['name']}" for tag in made["tags"] if not tag.get("description"))


def test_everything_at_the_rest_door_is_described():
    assert list(undescribed_at_rest()) == []


def rows() -> Iterator[tuple[str, dict[str, str]]]:
    head, *lines = ACCESS.read_text(encoding="utf-8").splitlines()
    for line in lines:
        cells = dict(zip(head.split(), line.split(), strict=True))
        yield cells["operation"], cells


def test_scopes_are_those_that_are_asked_for():
    """By the table that ``tests/access`` holds to the running service."""
    open_to_all = {op.name for op in OPERATIONS if op.open or op.public}
    for name, cells in rows():
        told = SCOPES.get(name)
        assert (cells["site"] == "yes") == (told is not None or name in open_to_all | ANY_TOKEN), name
        if told is not None and cells["reading-site"] in ("yes", "no"):
            assert (cells["reading-site"] == "yes") == (told.value == "orders.read"), name


@pytest.fixture(scope="module")
def placed(running: Running) -> Any:
    return running.caller().request(
        "POST",
        f"{API}/workshops/oxbarrow/orders",
        json={"contact": {"name": "Imke"}, "lines": [{"model_key": "longwalk-bench", "quantity": 1}]},
    )


def test_headers_that_are_declared_are_sent(running: Running, placed: Any):
    assert placed.status_code == 201 and placed.headers["location"] == placed.json()["order"]["url"]
    assert placed.headers["x-request-id"]
    running.caller().send_order()
    maker = running.maker()
    first = maker.get(f"{API}/orders", params={"first": 1})
    assert first.headers["link"].endswith('; rel="next"')
    second = maker.get(first.headers["link"].partition(">")[0].strip("<"))
    assert second.json()["items"][0]["id"] != first.json()["items"][0]["id"]
