"""What a page of orders asks of each is loaded for all of them at once, before anything of it is resolved.

Fields below then find it loaded and answer at once: a page without preloading pays for a coroutine a field.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Any

from graphql import FieldNode, FragmentSpreadNode, GraphQLResolveInfo, InlineFragmentNode, SelectionSetNode

from schema.context import Graph
from service.orders.actors import Actor
from service.orders.definition import defined
from service.orders.order import Carving, Order
from service.orders.proofs import Proof
from service.usecases import looking
from service.usecases.context import Context

LARGE = frozenset({"check", "facts", "findings", "pictureFrame"})
"""Fields of a proof that are read off its large values."""
_DEEPEST = 9
_LOOKS_AT: dict[type[Any], dict[str, str]] = {
    Order: dict.fromkeys(("id", "lines", "carvings", "artworks", "exportUrl"), "id"),
    Carving: {"proof": "proof_id", "artwork": "artwork_id", "reading": "reading_id", "order": "order_id"},
    Proof: {"pictureUrl": "id", "drawingUrl": "id", "carving": "carving_id"},
}
"""Value → field with a resolver → what that looks at of it."""
_KEYS = frozenset({"id", "line_id"})
"""Looked at in whatever is loaded."""
_CAPITAL = re.compile(r"(?<!^)(?=[A-Z])")
_NOTHING: frozenset[str] = frozenset()


def asked_below(info: GraphQLResolveInfo[Any], *path: str) -> dict[str, frozenset[str]]:
    """The fields asked for of what lies at a path below a field, each with those asked for below it."""
    sets = [node.selection_set for node in info.field_nodes]
    for name in path:
        sets = [each.selection_set for each in _fields(info, sets) if each.name.value == name]
    found: dict[str, frozenset[str]] = {}
    for node in _fields(info, sets):
        below = frozenset(each.name.value for each in _fields(info, [node.selection_set]))
        found[node.name.value] = found.get(node.name.value, _NOTHING) | below
    return found


def _fields(
    info: GraphQLResolveInfo[Any], sets: Iterable[SelectionSetNode | None], depth: int = 0
) -> list[FieldNode]:
    found: list[FieldNode] = []
    for each in sets:
        for node in each.selections if each is not None and depth < _DEEPEST else ():
            if isinstance(node, FieldNode):
                found.append(node)
            elif isinstance(node, InlineFragmentNode):
                found += _fields(info, [node.selection_set], depth + 1)
            elif isinstance(node, FragmentSpreadNode):
                fragment = info.fragments.get(node.name.value)
                found += _fields(info, [fragment.selection_set] if fragment else [], depth + 1)
    return found


def read_alone(kind: type[Any], asked: Iterable[str]) -> frozenset[str] | None:
    """The fields of a value that are looked at to answer these of the graph's; ``None`` where that is not known."""
    looks_at, known = _LOOKS_AT[kind], defined(kind)
    names = {looks_at.get(name) or _CAPITAL.sub("_", name).lower() for name in asked if name != "__typename"}
    return frozenset(names | (_KEYS & known.keys())) if names <= known.keys() else None


def wants_large(below: Iterable[str]) -> bool:
    """Whether any field asked for of a proof is read off its large values."""
    return not LARGE.isdisjoint(below)


def proof_loader(graph: Graph, info: GraphQLResolveInfo[Any]) -> str:
    """Which loader has all that a field asks for of a proof; found out once for each place in the query."""
    place = id(info.field_nodes[0])
    if place not in graph.loaders:
        graph.loaders[place] = "proofs" if wants_large(asked_below(info)) else "brief_proofs"
    return graph.loaders[place]


def preload(
    graph: Graph,
    ctx: Context,
    actor: Actor,
    info: GraphQLResolveInfo[Any],
    orders: Sequence[Order],
    *path: str,
) -> None:
    """Load what is asked for of these orders, which are at ``path`` below the field; in the thread of the field."""
    asked = asked_below(info, *path)
    if not {"carvings", "lines", "artworks"}.isdisjoint(asked) and orders:
        # of carvings below lines too: the path is one longer there
        of_carvings = asked_below(info, *path, "carvings") | asked_below(info, *path, "lines", "carvings")
        _load(ctx, actor, _Wanted(graph, [order.id for order in orders], asked, of_carvings))


@dataclass(frozen=True)
class _Wanted:
    """What is loaded, of which orders, and for whom it is kept."""

    graph: Graph
    ids: list[str]
    asked: dict[str, frozenset[str]]
    of_carvings: dict[str, frozenset[str]]


def _load(ctx: Context, actor: Actor, wanted: _Wanted) -> None:
    graph, ids, asked = wanted.graph, wanted.ids, wanted.asked
    if "lines" in asked:
        graph.fill("lines", zip(ids, looking.lines_by_order_ids(ctx, actor, ids), strict=True))
    if "artworks" in asked:
        graph.fill("artworks_of_order", zip(ids, looking.artworks_by_order_ids(ctx, actor, ids), strict=True))
    if "carvings" in asked or "carvings" in asked.get("lines", ()):
        found = looking.carvings_by_order_ids(ctx, actor, ids, read_alone(Carving, wanted.of_carvings))
        graph.fill("carvings_of_order", zip(ids, found, strict=True))
        _load_below(ctx, actor, wanted, [each for of_order in found for each in of_order])


def _load_below(ctx: Context, actor: Actor, wanted: _Wanted, carvings: list[Carving]) -> None:
    graph, asked = wanted.graph, wanted.of_carvings
    if "proof" in asked:
        large = wants_large(asked["proof"])
        ids = [each.proof_id for each in carvings if each.proof_id]
        found = (
            looking.proofs_by_ids(ctx, actor, ids)
            if large
            else looking.brief_proofs_by_ids(ctx, actor, ids, read_alone(Proof, asked["proof"]))
        )
        graph.fill("proofs" if large else "brief_proofs", zip(ids, found, strict=True))
    if "reading" in asked:
        ids = list(dict.fromkeys(each.reading_id for each in carvings if each.reading_id))
        graph.fill("readings", zip(ids, looking.readings_by_ids(ctx, actor, ids), strict=True))
    if "artwork" in asked:
        ids = list(dict.fromkeys(each.artwork_id for each in carvings if each.artwork_id))
        graph.fill("artworks", zip(ids, looking.artworks_by_ids(ctx, actor, ids), strict=True))
