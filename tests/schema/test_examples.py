"""Every body of the OpenAPI document has an example that its schema takes, by another library (jsonschema, 2020-12)."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

import jsonschema

from service.rest.openapi import document
from service.rest.openapi_parts import answers_of


def media() -> Iterator[tuple[str, dict[str, Any]]]:
    for methods in document()["paths"].values():
        for op in methods.values():
            bodies = [op.get("requestBody", {}), *answers_of(document(), op).values()]
            for content in (each.get("content", {}) for each in bodies):
                yield from (
                    (f"{op['operationId']} {kind}", body) for kind, body in content.items() if "json" in kind
                )


def test_every_body_has_an_example_that_its_schema_takes():
    whole = document()
    wrong, seen = [], set()
    for name, body in media():
        (told,) = body["examples"].values()
        key = told["$ref"]
        example = whole["components"]["examples"][key.rsplit("/", 1)[-1]]["value"]
        if key in seen:
            continue
        seen.add(key)
        checker = jsonschema.Draft202012Validator(
            body["schema"] | {"components": whole["components"]}, format_checker=jsonschema.FormatChecker()
        )
        wrong += [
            f"{name}: {'/'.join(map(str, e.path))}: {e.message[:200]}" for e in checker.iter_errors(example)
        ]
    assert len(seen) > 100 and wrong == []
