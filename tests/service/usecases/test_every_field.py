"""Every text that a client may write of an order, through the whole service: kept, found, exported, erased."""

from __future__ import annotations

from dataclasses import fields, is_dataclass, replace
from typing import Any

from schema.build import build_schema
from service.orders.content import OrderContent
from service.orders.definition import Trait, defined, texts
from service.orders.order import LineTerms, Order, OrderTerms
from service.rest.requests.orders import OrderAsk, OrderChangeAsk
from service.rest.responses.orders import OrderBody
from service.usecases import looking, ordering, privacy_and_audit
from service.usecases.commands import OrderFilter
from tests.service.usecases.test_record import everything_stored
from tests.service.usecases.world import World, content

CHOSEN = {"language"}
"""Texts of which a client chooses one, and writes none."""


def word(path: str) -> str:
    """A word that stands nowhere else."""
    return "zq" + "".join(sign for sign in path if sign.isalpha())


def filled(value: Any, path: str = "") -> Any:
    """The value with a word of its own in each of its texts that a client writes."""
    given: dict[str, Any] = {}
    for name, field in defined(type(value)).items():
        here = f"{path}{name}"
        if is_dataclass(field.kind):
            given[name] = filled(getattr(value, name), f"{here}.")
        elif field.longest is not None and name not in CHOSEN:
            given[name] = f"{word(here)}@quillfern.example" if name == "email" else word(here)
    return replace(value, **given)


def asked() -> OrderContent:
    full = filled(content())
    return replace(full, lines=tuple(filled(line, f"lines.{i}.") for i, line in enumerate(full.lines)))


def test_every_text_is_kept_found_exported_and_erased(world: World):
    wanted = asked()
    whole = ordering.place_order(world.ctx, world.maker, wanted).whole
    order = whole.order
    assert {name: getattr(order, name) for name in defined(OrderTerms)} == {
        name: getattr(wanted, name) for name in defined(OrderTerms)
    }
    assert [getattr(whole.lines[0], name) for name in defined(LineTerms)] == [
        getattr(wanted.lines[0], name) for name in defined(LineTerms)
    ]
    written = [(path, text, field) for path, text, field in texts(wanted) if text]
    assert len(written) >= 7
    export = str(privacy_and_audit.export_order(world.ctx, world.maker, order.id))
    for _, text, field in written:
        assert text in export
        found = looking.list_orders(world.ctx, world.maker, OrderFilter(words=text.partition("@")[0])).items
        assert ([each.id for each in found] == [order.id]) == (Trait.SEARCHABLE in field.traits)
    privacy_and_audit.erase_client(world.ctx, world.maker, order.id, order.revision)
    left = everything_stored(world)
    assert [path for path, text, _ in written if text.partition("@")[0] in left] == []


def test_every_field_is_at_both_doors():
    terms, graph = set(defined(OrderTerms)), build_schema()._schema.type_map
    camel = {name: "".join([name.split("_")[0], *(w.title() for w in name.split("_")[1:])]) for name in terms}
    assert terms <= set(OrderAsk.model_fields)
    assert terms <= set(OrderChangeAsk.model_fields)
    assert set(defined(Order)) - {"workshop_id"} <= {field.name for field in fields(OrderBody)}
    assert set(camel.values()) <= set(graph["Order"].fields)
    assert set(camel.values()) <= set(graph["OrderInput"].fields)
