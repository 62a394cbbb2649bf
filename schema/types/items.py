"""Items: every slat of every piece at the bench."""

from __future__ import annotations

from schema.types.made import shows
from service.orders import items


@shows(items.Item)
class Item:
    """One slat of one piece; `follows` is its next state, null for what is packed or broken."""

    follows: items.ItemState | None
