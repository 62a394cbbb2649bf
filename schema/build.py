"""The schema put together, with its limits."""

from __future__ import annotations

import inspect
import logging
import re
from functools import cache
from typing import Any

import strawberry
from anyio import CapacityLimiter
from graphql import GraphQLError, GraphQLNamedType
from strawberry.extensions import MaskErrors
from strawberry.schema.config import StrawberryConfig

from schema.admission import Admission
from schema.context import ApiError
from schema.executing import Executor
from schema.mutations import mutation_type
from schema.outcomes import Refusal
from schema.queries import Query
from schema.reading import field_of
from schema.subscriptions import Subscription
from schema.types.batches import Batch
from schema.types.made import sentence
from schema.types.orders import Artwork, Carving, Order, Proof, Reading
from schema.types.shapes import SCALARS
from schema.types.work import Job
from service.orders.definition import attributes
from service.orders.glossary import words_for

UNFORESEEN = "Something went wrong here."
"""Of an error that is ours; the log says what it was."""
_OF_PAGES = ("Connection", "Edge")
_DOCUMENTS_AT_ONCE = 2
"""Looked at at once: more would only take turns at the processor, and others' requests theirs."""

_CAPITAL = re.compile(r"(?<!^)(?=[A-Z])")

log = logging.getLogger("slatproof.graphql")


class Schema(strawberry.Schema):
    """Strawberry's schema without its log of every mistake in a stranger's query; ours are logged below."""

    def process_errors(self, errors: list[GraphQLError], execution_context: object = None) -> None:
        """Log nothing."""


@cache
def build_schema() -> strawberry.Schema:
    """The one schema."""
    documents = CapacityLimiter(_DOCUMENTS_AT_ONCE)
    schema = Schema(
        query=Query,
        mutation=mutation_type(),
        subscription=Subscription,
        types=[Artwork, Batch, Carving, Job, Order, Proof, Reading, Refusal],
        execution_context_class=Executor,
        config=StrawberryConfig(
            default_resolver=field_of, disable_field_suggestions=True, scalar_map=SCALARS
        ),
        extensions=[
            lambda: Admission(documents),
            lambda: MaskErrors(should_mask_error=_is_ours_to_hide, error_message=UNFORESEEN),
        ],
    )
    _describe(schema)
    return schema


def _is_ours_to_hide(error: GraphQLError) -> bool:
    """Whether an error came out of our code unforeseen; what is said about the query is for its sender."""
    cause = error.original_error
    if cause is None or isinstance(cause, ApiError | GraphQLError):
        return False
    log.error("unforeseen error", exc_info=cause)
    return True


def _describe(schema: strawberry.Schema) -> None:
    """Docstrings of types and resolvers become the graph's descriptions, so that each is written once."""
    for kind in schema._schema.type_map.values():
        definition = kind.extensions.get("strawberry-definition")
        if definition is None:
            continue
        if kind.name.endswith(_OF_PAGES) and kind.description is None:
            kind.description = (
                "One page of a list." if kind.name.endswith("Connection") else "One item of a page."
            )
        _describe_type(kind, getattr(definition, "origin", None))


def _describe_type(kind: GraphQLNamedType, origin: Any) -> None:
    said = {} if origin is None else attributes(origin)
    if kind.description is None and origin is not None and origin.__doc__:
        kind.description = inspect.cleandoc(origin.__doc__)
    for name, field in getattr(kind, "fields", {}).items():
        definition = field.extensions.get("strawberry-definition")
        resolver = getattr(definition, "base_resolver", None)
        if field.description is None and resolver is not None and resolver.wrapped_func.__doc__:
            field.description = inspect.cleandoc(resolver.wrapped_func.__doc__)
        python = _CAPITAL.sub("_", name).lower()
        if not field.description:
            field.description = sentence(said.get(python) or words_for(kind.name, python)) or None
        for each, argument in getattr(field, "args", {}).items():
            if not argument.description:
                argument.description = sentence(words_for(name, _CAPITAL.sub("_", each).lower())) or None
