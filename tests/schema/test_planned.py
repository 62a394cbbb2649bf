"""What is read column by column is answered as the library answers it field by field, whatever the values are."""

from __future__ import annotations

import asyncio
from collections.abc import Callable
from dataclasses import dataclass, field
from enum import StrEnum
from types import SimpleNamespace
from typing import Any

import pytest
import strawberry

from schema.build import Schema
from schema.executing import Executor
from schema.planning import Objects, Planner
from schema.reading import field_of
from tests.running import Running, art, carvings


class Wood(StrEnum):
    CEDAR = "cedar"
    LARCH = "larch"


@dataclass(frozen=True)
class Board:
    name: Any = "rail"
    width: Any = 89.5
    knots: Any = 2
    wood: Any = Wood.CEDAR
    beside: Any = None
    cuts: Any = ()


@strawberry.type(name="Board")
class ShownBoard:
    name: str
    width: float
    knots: int | None
    wood: strawberry.enum(Wood)
    beside: ShownBoard | None
    cuts: list[float]

    @strawberry.field
    def label(self: Any) -> str:
        return f"{self.name} of {self.wood}"


GIVEN: list[Any] = []
QUERY = """{ shelf { boards { __typename name width knots other: wood label cuts
  beside { name knots beside { name wood } } } } }"""


@strawberry.type
class Shelf:
    boards: list[ShownBoard] | None


@strawberry.type
class Query:
    @strawberry.field
    async def shelf(self) -> Shelf:
        return Shelf(boards=GIVEN[0])


@dataclass
class Context:
    """As much of ``schema.context.Graph`` as is asked for here."""

    connection: Any = field(default_factory=lambda: SimpleNamespace(scope={"type": "websocket"}))


def answers(given: Any, *, planned: bool) -> tuple[Any, list[tuple[str, Any]]]:
    """Data and errors with their paths."""
    GIVEN[:] = [given()]
    more = {"execution_context_class": Executor} if planned else {}
    schema = Schema(
        Query, config=strawberry.schema.config.StrawberryConfig(default_resolver=field_of), **more
    )
    found = asyncio.run(schema.execute(QUERY, context_value=Context()))
    return found.data, [(error.message, error.path) for error in found.errors or ()]


def many(*boards: Any) -> Callable[[], Any]:
    return lambda: list(boards)


@pytest.mark.parametrize(
    "given",
    [
        many(),
        many(Board(), Board("foot", 140.0, None, "larch", Board("arm", beside=Board("leg")), (1.5, 2.0))),
        many(vars(Board()), {**vars(Board("foot")), "beside": Board("arm")}),
        many(vars(Board()), Board()),
        lambda: (Board("a"), Board("b")),
        lambda: (each for each in [Board()]),
        many(Board(), Board(name=None)),
        many(Board(), Board(name=7), Board(width=90)),
        many(Board(width="wide")),
        many(Board(knots=2.5), Board()),
        many(Board(wood="oak"), Board(wood=None)),
        many(Board(cuts=None)),
        many(Board(cuts=(1, None))),
        lambda: [Board(cuts=iter([1.0]))],
        many(Board(), None),
        many(Board(), object()),
        lambda: None,
        lambda: 5,
    ],
)
def test_any_values_are_answered_as_by_the_library(given):
    assert answers(given, planned=True) == answers(given, planned=False)


def test_what_is_at_hand_is_read_once_a_column(monkeypatch):
    columns: list[int] = []
    read = Objects.column
    monkeypatch.setattr(
        Objects, "column", lambda self, name: columns.append(len(self.each)) or read(self, name)
    )
    answers(many(*[Board(beside=Board(beside=Board()))] * 40), planned=True)
    assert columns == [1] + [40] * (6 + 3 + 2)  # of the shelf, then of each board, and of those beside it


PAGE = """{ orders(first: 20) { pageInfo { hasNextPage endCursor } edges { cursor node { __typename id number state
  neededBy createdAt contact { name email } site { orderNumber metadata { __typename } }
  lines { modelKey quantity finish } artworks { name size originalUrl }
  carvings { id slatKey state artwork { name } reading { state format report { __typename } }
    allowances { sanding } placement { x y scale }
    proof { id verdict sentence madeAt remarks pictureUrl findings { kind severity measured place }
      facts { bit { angleDeg } } check { figures { depth leastLine } } } } } } } }"""


def test_a_page_is_the_same_without_plans(running: Running, monkeypatch):
    placed = running.caller().send_order()
    client, order = running.caller(placed["link_token"]), placed["order"]
    client.upload(order["id"], "crest.svg", art("crest.svg"), [each["id"] for each in carvings(order)])
    client.settled(order["id"])
    planned = client.post("/graphql", json={"query": PAGE}).json()
    assert "errors" not in planned, planned
    monkeypatch.setattr(Planner, "field", lambda *_: None)
    assert client.post("/graphql", json={"query": PAGE}).json() == planned
