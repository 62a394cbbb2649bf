"""What a program that relies on the last released contract would trip over in today's.

For GraphQL that is graphql-core's own comparison. For OpenAPI it is this one: what a program may send must stay
taken, what it is given must stay given. Additions are not breaking.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Any

from graphql import build_schema, find_breaking_changes

Plain = Mapping[str, Any]
_JSON = "application/json"


def broken_graph(released: str, now: str) -> list[str]:
    """Breaking changes between two schemas in SDL, in words."""
    found = find_breaking_changes(build_schema(released), build_schema(now))
    return [change.description for change in found]


def broken_rest(released: Plain, now: Plain) -> list[str]:
    """Breaking changes between two OpenAPI documents, in words."""
    return list(dict.fromkeys(_Comparison(released, now).changes()))


class _Comparison:
    def __init__(self, before: Plain, after: Plain) -> None:
        self._before, self._after = before, after
        self._seen: set[tuple[str, str, bool]] = set()

    def changes(self) -> Iterator[str]:
        for path, methods in self._before["paths"].items():
            for method, operation in methods.items():
                other = self._after["paths"].get(path, {}).get(method)
                if other is None:
                    yield f"{method.upper()} {path} was removed."
                else:
                    yield from self._operation(operation, other)

    def _operation(self, before: Plain, after: Plain) -> Iterator[str]:
        name = before["operationId"]
        if after["operationId"] != name:
            yield f"{name} is named {after['operationId']}."
        yield from self._parameters(name, before, after)
        asked, wanted = _body(before), _body(after)
        if wanted is not None and asked is None:
            yield f"{name} needs a body."
        if asked is not None and wanted is not None:
            yield from self._schema(f"{name} body", asked, wanted, sent=True)
        for status, answer in before["responses"].items():
            if status.startswith("2"):
                yield from self._answer(name, status, answer, after["responses"].get(status))

    def _parameters(self, name: str, before: Plain, after: Plain) -> Iterator[str]:
        old = {(each["in"], each["name"]): each for each in before["parameters"]}
        new = {(each["in"], each["name"]): each for each in after["parameters"]}
        for key, each in old.items():
            if key not in new:
                yield f"{name} no longer takes {key[1]}."
            else:
                yield from self._schema(f"{name} {key[1]}", each["schema"], new[key]["schema"], sent=True)
        for key, each in new.items():
            if each.get("required") and not old.get(key, {}).get("required"):
                yield f"{name} needs {key[1]}."

    def _answer(self, name: str, status: str, before: Plain, after: Plain | None) -> Iterator[str]:
        if after is None:
            yield f"{name} no longer answers {status}."
            return
        for media, content in before.get("content", {}).items():
            given = after.get("content", {}).get(media)
            if given is None:
                yield f"{name} no longer gives {media}."
            elif media == _JSON:
                yield from self._schema(f"{name} answer", content["schema"], given["schema"], sent=False)

    def _schema(self, where: str, before: Plain, after: Plain, *, sent: bool) -> Iterator[str]:
        refs = str(before.get("$ref", "")), str(after.get("$ref", ""))
        if all(refs):
            if (*refs, sent) in self._seen:
                return
            self._seen.add((*refs, sent))
            where = refs[0].rsplit("/", 1)[-1]
        old, new = _followed(self._before, before), _followed(self._after, after)
        kinds, other = _kinds(old), _kinds(new)
        if (kinds - other if sent else other - kinds) and "any" not in (other if sent else kinds):
            yield f"{where} was {_told(kinds)} and is {_told(other)}."
        if sent and "enum" in old and (gone := sorted(set(old["enum"]) - set(new.get("enum", old["enum"])))):
            yield f"{where} no longer takes {', '.join(gone)}."
        yield from self._members(where, old, new, sent=sent)
        if "items" in old and "items" in new:
            yield from self._schema(f"{where} item", old["items"], new["items"], sent=sent)

    def _members(self, where: str, old: Plain, new: Plain, *, sent: bool) -> Iterator[str]:
        had, has = old.get("properties", {}), new.get("properties", {})
        for name, each in had.items():
            if name in has:
                yield from self._schema(f"{where}.{name}", each, has[name], sent=sent)
            elif has or not new.get("additionalProperties", False):
                yield f"{where}.{name} was removed."
        needed, before = set(new.get("required", ())), set(old.get("required", ()))
        if sent:
            yield from (f"{where}.{name} is needed." for name in sorted(needed - before))
        else:
            yield from (f"{where}.{name} may be missing." for name in sorted(before & set(has) - needed))


def _body(operation: Plain) -> Plain | None:
    content = operation.get("requestBody", {}).get("content", {})
    found: Plain | None = content[_JSON]["schema"] if _JSON in content else None
    return found


def _followed(document: Plain, schema: Plain) -> Plain:
    while "$ref" in schema:
        schema = document["components"]["schemas"][schema["$ref"].rsplit("/", 1)[-1]]
    return schema


def _kinds(schema: Plain) -> frozenset[str]:
    """The forms a value may have: JSON types, and the names of what is referred to."""
    for key in ("anyOf", "oneOf"):
        if key in schema:
            return frozenset().union(*(_kinds(each) for each in schema[key]))
    if "$ref" in schema:
        return frozenset({str(schema["$ref"]).rsplit("/", 1)[-1]})
    kind = schema.get("type", "any")
    return frozenset(kind if isinstance(kind, list) else [str(kind)])


def _told(kinds: frozenset[str]) -> str:
    return " or ".join(sorted(kinds))
