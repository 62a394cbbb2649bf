"""A document on its way in: parsed, counted and validated in a thread, before anything of it is executed."""

from __future__ import annotations

from collections.abc import AsyncIterator
from threading import Lock

from anyio import CapacityLimiter, to_thread
from cachetools import LRUCache
from graphql import GraphQLError, parse
from strawberry.extensions import SchemaExtension
from strawberry.schema.schema import validate_document
from strawberry.types import ExecutionContext

from schema.budget import refuse_costly
from service.metering import REFUSALS

MOST_TOKENS = 1500
_KEPT_DOCUMENTS = 128
_LONGEST_KEPT = 4096


class Document:
    """A parsed document; whether the specification's rules hold is found out once."""

    def __init__(self, query: str) -> None:
        """Parse it. Raises GraphQLError where it cannot be."""
        self.parsed = parse(query, max_tokens=MOST_TOKENS)
        self._broken: list[GraphQLError] | None = None
        self._cheap = False

    def faults(self, context: ExecutionContext) -> list[GraphQLError]:
        """What is wrong with it; the budget is asked before any rule is."""
        schema = context.schema._schema
        try:
            if not self._cheap or context.variables:
                refuse_costly(schema, self.parsed, context.variables)
                self._cheap = not context.variables
        except GraphQLError as error:
            REFUSALS.labels("graphql", "too-costly").inc()
            return [error]
        if self._broken is None:
            self._broken = validate_document(schema, self.parsed, context.validation_rules)
        return self._broken

    @property
    def known(self) -> bool:
        """Whether all there is to find out about it without variables has been."""
        return self._cheap and self._broken is not None


_kept: LRUCache[str, Document] = LRUCache(_KEPT_DOCUMENTS)
_keeping = Lock()


def kept(query: str) -> Document | None:
    """A document that was read lately."""
    with _keeping:
        return _kept.get(query)


def read(query: str) -> Document:
    """The document, kept where it is short. Raises GraphQLError where it cannot be parsed."""
    document = kept(query)
    if document is None:
        document = Document(query)
        if len(query) <= _LONGEST_KEPT:
            with _keeping:
                _kept[query] = document
    return document


class Admission(SchemaExtension):
    """Parses and validates; what asks too much is refused before any other rule sees it."""

    def __init__(self, threads: CapacityLimiter) -> None:
        """Look at as many documents at once as ``threads`` lets."""
        self._threads = threads

    async def on_parse(self) -> AsyncIterator[None]:
        """Read the document. Raises GraphQLError where it is none."""
        context = self.execution_context
        query = context.query or ""
        document = kept(query)
        if document is None:
            document = await to_thread.run_sync(read, query, limiter=self._threads)
        self._document = document
        context.graphql_document = self._document.parsed
        yield

    async def on_validate(self) -> AsyncIterator[None]:
        """Find out what is wrong with it."""
        context = self.execution_context
        document = self._document
        context.pre_execution_errors = (
            document.faults(context)
            if document.known and not context.variables
            else await to_thread.run_sync(document.faults, context, limiter=self._threads)
        )
        yield
