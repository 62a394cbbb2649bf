"""What one GraphQL document may ask for: each fragment counted once, the sum as if it were written out."""

from __future__ import annotations

import json

import pytest
from graphql import GraphQLError, get_introspection_query, parse, print_ast
from graphql.language import (
    DocumentNode,
    FragmentDefinitionNode,
    FragmentSpreadNode,
    InlineFragmentNode,
    NamedTypeNode,
    Visitor,
    visit,
)
from hypothesis import given
from hypothesis import strategies as st
from websockets.sync.client import connect

from schema import budget
from schema.admission import MOST_TOKENS, Document
from schema.build import build_schema
from service.pages.queue import _QUESTION as QUEUE
from tests.running import Running
from tests.schema.test_over_http import PAGE

SCHEMA = build_schema()._schema


def doubling(levels: int, leaf: str = "viewer { role }") -> str:
    """Each level of 36 bytes doubles what it comes to written out."""
    levels_of = (f"fragment a{i} on Query {{ ...a{i + 1} ...a{i + 1} }}" for i in range(levels))
    return " ".join(("{ ...a0 }", *levels_of, f"fragment a{levels} on Query {{ {leaf} }}"))


def chain(levels: int) -> str:
    links = (f"fragment a{i} on Query {{ ...a{i + 1} }}" for i in range(levels))
    return " ".join(("{ ...a0 }", *links, f"fragment a{levels} on Query {{ viewer {{ role }} }}"))


def aliased(count: int, field: str) -> str:
    return "{" + " ".join(f"a{i}: {field}" for i in range(count)) + "}"


TRIAL = 'trial(carvingId: "a") { __typename }'
CURES = 'cures(carvingId: "a") { code }'
ATTACKS = {
    "doubling": (doubling(18), "fields"),
    "doubling a hundred times": (doubling(100), "nested"),
    "doubling where nobody looks": ("{ viewer { role } } " + doubling(18).removeprefix("{ ...a0 }"), "fields"),
    "doubling the schema": (
        "{ __schema { ...a0 } } "
        + doubling(18, "types { name }").removeprefix("{ ...a0 }").replace("Query", "__Schema"),
        "fields",
    ),
    "a long chain": (chain(150), "nested"),
    "a cycle": ("{ ...a } fragment a on Query { viewer { role } ...b } fragment b on Query { ...a }", "itself"),
    "the same field again and again": ("{ " + "viewer { role } " * 300 + "}", "fields"),
    "trials": (aliased(15, TRIAL), "units"),
    "cures": (aliased(2, CURES), "units"),
    "boards for every order": ("{ orders(first: 100) { edges { node { work { __typename } } } } }", "units"),
    "a huge page": ("{ orders(first: 100000) { edges { cursor node { id } } } }", "units"),
    "a huge page by a variable": ("query($n: Int!) { orders(first: $n) { edges { cursor } } }", "units"),
    "lists in lists": (
        "{ orders(first: 100) { edges { node { carvings { proofs { findings { kind message place } } } } } } }",
        "units",
    ),
    "the schema four times": (aliased(4, "__schema { types { name } }"), "units"),
    "changing again and again": (
        "mutation {" + " ".join(f'a{i}: cancelOrder(orderId: "a", expectedRevision: 1, reason: "")'
                                " { __typename }" for i in range(11)) + "}",
        "units",
    ),
}  # fmt: skip


@pytest.mark.parametrize("name", ATTACKS)
def test_what_asks_too_much_is_refused(name):
    query, word = ATTACKS[name]
    with pytest.raises(GraphQLError, match=word) as refused:
        budget.refuse_costly(SCHEMA, parse(query, max_tokens=MOST_TOKENS), {"n": 10**6})
    assert refused.value.extensions == {"code": "TOO_COSTLY"}


@pytest.mark.parametrize(
    ("query", "variables"),
    [(PAGE, {"first": 50}), (QUEUE, {"first": 30}), (get_introspection_query(), {}), (aliased(2, TRIAL), {})],
    ids=["a page of orders", "the maker's queue", "the schema", "two trials"],
)
def test_what_people_ask_for_is_taken(query, variables):
    budget.refuse_costly(SCHEMA, parse(query), variables)


def test_each_fragment_is_counted_once(monkeypatch):
    """Fields counted are those written, not those they come to."""
    counted: list[str] = []
    seen = budget._cost_of
    monkeypatch.setattr(budget, "_cost_of", lambda *asked: counted.append(asked[0]) or seen(*asked))
    with pytest.raises(GraphQLError):
        budget.refuse_costly(SCHEMA, parse(doubling(18)), {})
    assert counted == ["viewer", "role"] or counted == ["role", "viewer"]


FRAGMENTS = ("a", "b", "c", "d")


@st.composite
def documents(draw: st.DrawFn) -> str:
    """Orders' fields and fragments that spread only later ones."""

    def fields(below: tuple[str, ...], deep: int) -> str:
        kinds = ["id", "x: number", "state"]
        if deep:
            kinds += ["lines", "carvings"]
        chosen = draw(
            st.lists(st.sampled_from(kinds + [f"...{name}" for name in below]), min_size=1, max_size=4)
        )
        parts = []
        for each in chosen:
            if each == "lines":
                parts.append("lines { position carvings { order { " + fields(below, deep - 1) + " } } }")
            elif each == "carvings":
                parts.append("carvings { order { " + fields(below, deep - 1) + " } }")
            else:
                parts.append(each)
        return " ".join(parts)

    said = [f"{{ orders(first: 3) {{ edges {{ node {{ {fields(FRAGMENTS, 1)} }} }} }} }}"]
    for index, name in enumerate(FRAGMENTS):
        said.append(f"fragment {name} on Order {{ {fields(FRAGMENTS[index + 1 :], 1)} }}")
    return " ".join(said)


class _WriteOut(Visitor):
    def __init__(self, fragments: dict[str, FragmentDefinitionNode]) -> None:
        super().__init__()
        self._fragments = fragments

    def leave_fragment_spread(self, node: FragmentSpreadNode, *_: object) -> InlineFragmentNode:
        fragment = self._fragments[node.name.value]
        return InlineFragmentNode(
            type_condition=NamedTypeNode(name=fragment.type_condition.name),
            selection_set=visit(fragment.selection_set, _WriteOut(self._fragments)),
        )


def bill_of(document: DocumentNode) -> budget.Bill:
    counting = budget._Counting(SCHEMA, document, {})
    operation = document.definitions[0]
    return counting._of(operation.selection_set, SCHEMA.query_type, operation.operation)


@given(documents())
def test_it_comes_to_what_it_would_written_out(query):
    """An independent way: the library's visitor writes every fragment out."""
    document = parse(query)
    fragments = {each.name.value: each for each in document.definitions[1:]}
    operation = visit(document.definitions[0], _WriteOut(fragments))
    written = parse(print_ast(operation))
    assert len(written.definitions) == 1 and "fragment" not in print_ast(written)
    there, here = bill_of(written), bill_of(document)
    assert (here.fields, here.aliases, here.cost, here.depth) == (
        there.fields,
        there.aliases,
        there.cost,
        there.depth,
    )


def test_every_price_is_of_something_that_is_there():
    for path in (*budget.SIZES, *budget.COSTS):
        kind, _, name = path.partition(".")
        assert name == "" or name in SCHEMA.type_map[kind].fields, path


def test_a_document_too_costly_is_seen_by_no_other_rule(monkeypatch):
    seen: list[object] = []
    monkeypatch.setattr("schema.admission.validate_document", lambda *asked: seen.append(asked) or [])
    context = build_schema()._create_execution_context(doubling(18), [])
    assert [fault.extensions for fault in Document(doubling(18)).faults(context)] == [{"code": "TOO_COSTLY"}]
    assert seen == []


@pytest.mark.parametrize("name", ["doubling", "a cycle", "trials"])
def test_over_http_nobody_needs_to_be_known_to_be_refused(running: Running, name):
    answer = running.caller().post("/graphql", json={"query": ATTACKS[name][0]}).json()
    assert [error["extensions"]["code"] for error in answer["errors"]] == ["TOO_COSTLY"]
    assert "data" not in answer


def test_over_a_socket_too(running: Running):
    address = running.url.replace("http", "ws") + "/graphql"
    with connect(address, subprotocols=["graphql-transport-ws"]) as socket:
        socket.send(json.dumps({"type": "connection_init"}))
        assert json.loads(socket.recv(timeout=5))["type"] == "connection_ack"
        socket.send(json.dumps({"id": "1", "type": "subscribe", "payload": {"query": doubling(18)}}))
        answer = json.loads(socket.recv(timeout=5))
    assert answer["type"] == "error" and answer["payload"][0]["extensions"]["code"] == "TOO_COSTLY"


def test_lists_are_counted_as_they_turn_out(running: Running, monkeypatch):
    """An order may hold far more than is usual: it is read until the budget is gone, never further."""
    monkeypatch.setattr("schema.executing.BUDGET", 20)
    maker = running.maker()
    for _ in range(3):
        running.caller().send_order()
    few = "{ orders(first: 2) { edges { node { id number } } } }"
    assert "errors" not in maker.post("/graphql", json={"query": few}).json()
    many = (
        "{ orders(first: 3) { edges { node { id number lines { id modelKey carvings { id slatKey } } } } } }"
    )
    answer = maker.post("/graphql", json={"query": many}).json()
    assert answer["data"] == {"orders": None}
    assert {error["extensions"]["code"] for error in answer["errors"]} == {"TOO_COSTLY"}
