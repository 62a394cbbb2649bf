"""Items, as JSON."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from service.orders.items import Item, ItemState, counts
from service.rest.responses.base import shown, shows


@shows(Item)
class ItemBody:
    """One slat of one piece; `follows` is its next state, `null` for what is packed or broken."""

    follows: ItemState | None


@dataclass(frozen=True)
class ItemsBody:
    """Items of an order, line by line, piece by piece, and how many of them are in each state."""

    items: tuple[ItemBody, ...]
    counts: Mapping[str, int]


def item_body(item: Item) -> ItemBody:
    """From an item."""
    return shown(ItemBody, item)


def items_body(items: Iterable[Item]) -> ItemsBody:
    """From several."""
    every = tuple(items)
    return ItemsBody(tuple(map(item_body, every)), counts(every))
