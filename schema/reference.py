"""The GraphQL door's page of the reference, drawn from the schema, and the schema as a document."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from functools import cache

from graphql import (
    GraphQLArgument,
    GraphQLEnumType,
    GraphQLInputObjectType,
    GraphQLInterfaceType,
    GraphQLNamedType,
    GraphQLObjectType,
    GraphQLSchema,
    GraphQLUnionType,
    get_named_type,
    is_specified_scalar_type,
)
from graphql.type import GraphQLOutputType
from markupsafe import Markup
from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Route

from schema.admission import MOST_TOKENS
from schema.budget import BUDGET, DEEPEST, MOST_ALIASES, MOST_FIELDS
from schema.build import build_schema
from schema.export import sdl
from service.rest.reference.drawing import contract, page
from service.rest.reference.schemas import Field, Shape, link
from service.usecases.paging import MOST_PER_PAGE

_ROOTS = ("Query", "Mutation", "Subscription")


@dataclass(frozen=True)
class _Group:
    title: str
    kinds: tuple[type[GraphQLNamedType], ...]


_GROUPS = (
    _Group("Objects", (GraphQLObjectType, GraphQLInterfaceType)),
    _Group("One of several", (GraphQLUnionType,)),
    _Group("Inputs", (GraphQLInputObjectType,)),
    _Group("Choices", (GraphQLEnumType,)),
)


def reference_routes() -> list[Route]:
    """The page and the document."""
    return [
        Route("/reference/graphql", _page, methods=["GET"]),
        Route("/graphql/schema.graphql", _document, methods=["GET"]),
    ]


async def _page(_request: Request) -> Response:
    return _drawn()


async def _document(request: Request) -> Response:
    return contract(request, _contract(), "text/plain")


@cache
def _contract() -> bytes:
    return sdl().encode()


@cache
def _drawn() -> Response:
    limits = {
        "depth": DEEPEST,
        "aliases": MOST_ALIASES,
        "fields": MOST_FIELDS,
        "tokens": MOST_TOKENS,
        "page": MOST_PER_PAGE,
        "budget": BUDGET,
    }
    return page("graph.html", limits=limits, groups=_groups(build_schema()._schema))


def _groups(schema: GraphQLSchema) -> dict[str, list[Shape]]:
    own = [kind for name, kind in sorted(schema.type_map.items()) if not name.startswith("__")]
    groups = {"Where to begin": [_shape(schema.type_map[name]) for name in _ROOTS]}
    for group in _GROUPS:
        kinds = [kind for kind in own if isinstance(kind, group.kinds) and kind.name not in _ROOTS]
        groups[group.title] = [_shape(kind) for kind in kinds]
    rest = {shape.name for shapes in groups.values() for shape in shapes}
    scalars = [kind for kind in own if kind.name not in rest and not is_specified_scalar_type(kind)]
    groups["Scalars"] = [_shape(kind) for kind in scalars]
    return groups


def _shape(kind: GraphQLNamedType) -> Shape:
    words = "" if kind.name in _ROOTS else kind.description or ""
    if isinstance(kind, GraphQLUnionType):
        return Shape(kind.name, words, (), Markup(" or ").join(link(each.name) for each in kind.types))
    if isinstance(kind, GraphQLEnumType):
        values = (
            Field(name, Markup(), False, value.description or "") for name, value in kind.values.items()
        )
        return Shape(kind.name, words, tuple(values), Markup())
    fields = getattr(kind, "fields", {}).items()
    rows = (
        _field(name, each.type, each.description, getattr(each, "args", {}).items()) for name, each in fields
    )
    return Shape(kind.name, words, tuple(rows), Markup())


def _field(
    name: str,
    kind: GraphQLOutputType,
    words: str | None,
    arguments: Iterable[tuple[str, GraphQLArgument]],
) -> Field:
    taken = [Markup("{}: {}").format(given, _type(argument.type)) for given, argument in arguments]
    asked = Markup("({}) → ").format(Markup(", ").join(taken)) if taken else Markup()
    return Field(name, asked + _type(kind), False, words or "")


def _type(kind: object) -> Markup:
    """As the schema writes it (``[Order!]!``), its name a link."""
    text, named = str(kind), get_named_type(kind)  # type: ignore[call-overload]
    label = Markup("<code>{}</code>").format(text)
    return label if is_specified_scalar_type(named) else link(named.name, text)
