"""Amending by GraphQL is a merge patch as at the REST door: what is left out stays, null takes the usual value."""

from __future__ import annotations

import asyncio
from types import SimpleNamespace
from typing import Any

import pytest
from anyio import CapacityLimiter

from schema.build import build_schema
from schema.context import Graph
from tests.service.usecases.world import CannedCompute, World, make_sqlite_world

SEEN = "number revision note purchaseOrder rightsGranted contact { name phone } lines { id quantity modelKey note }"
ELSE = "... on Invalid { problems { field } }"
AMEND = f"""
mutation($id: ID!, $rev: Int!, $order: OrderInput!) {{
  amendOrder(orderId: $id, expectedRevision: $rev, order: $order) {{
    __typename ... on OrderChanged {{ order {{ {SEEN} }} }} {ELSE}
  }}
}}"""
PLACE = f"""
mutation($order: OrderInput!) {{
  placeOrder(workshop: "oxbarrow", order: $order) {{
    __typename ... on OrderPlaced {{ order {{ id {SEEN} }} }} {ELSE}
  }}
}}"""
ORDER = {
    "contact": {"name": "Imke Harrowdale", "phone": None},
    "lines": [{"modelKey": "longwalk-bench", "quantity": 2, "slats": ["back-wide"], "note": "by the pond"}],
    "rightsGranted": True,
    "note": "two visits",
    "purchaseOrder": "QBG-0417",
}


class Asked(Graph):
    """The context of one request, asked by the maker."""

    async def actor(self, workshop: str | None = None) -> Any:
        return self.pipeline.maker  # type: ignore[attr-defined]


@pytest.fixture
def world(tmp_path):
    made = make_sqlite_world(tmp_path, CannedCompute())
    yield made
    made.database.close()


def ask(world: World, query: str, **variables: Any) -> Any:
    async def go() -> Any:
        pipeline: Any = SimpleNamespace(ctx=world.ctx, threads=CapacityLimiter(2), maker=world.maker)
        graph = Asked(pipeline, None)  # type: ignore[arg-type]
        answer = await build_schema().execute(query, variable_values=variables, context_value=graph)
        assert not answer.errors, answer.errors
        (given,) = answer.data.values()
        return given

    return asyncio.run(go())


def test_what_is_left_out_stays_and_null_takes_the_usual_value(world):
    placed = ask(world, PLACE, order=ORDER)["order"]
    assert placed["contact"] == {
        "name": "Imke Harrowdale",
        "phone": "",
    }  # null is the usual value when placing too
    line = placed["lines"][0]
    change = {"note": None, "contact": {"phone": "7"}, "lines": [{"id": line["id"], "quantity": 3}]}
    after = ask(world, AMEND, id=placed["id"], rev=placed["revision"], order=change)["order"]
    assert after == {
        **{name: placed[name] for name in ("number", "purchaseOrder", "rightsGranted")},
        "revision": placed["revision"] + 1,
        "note": "",
        "contact": {"name": "Imke Harrowdale", "phone": "7"},
        "lines": [{**line, "quantity": 3}],
    }


def test_a_new_line_must_say_what_it_is(world):
    placed = ask(world, PLACE, order=ORDER)["order"]
    refused = ask(world, AMEND, id=placed["id"], rev=placed["revision"], order={"lines": [{"quantity": 1}]})
    assert refused == {"__typename": "Invalid", "problems": [{"field": "lines.0.model_key"}]}
    refused = ask(world, PLACE, order={"lines": [{"quantity": 1}]})
    assert refused == {"__typename": "Invalid", "problems": [{"field": "lines.0.model_key"}]}
