"""Every fixed choice that both doors show: its name in the contracts, and what each value means.

Stated once; the graph's enums and the words in the OpenAPI document are made from it
(``docs/adr/0019-one-definition-of-each-value.md``).
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any, Final

from service.orders.choices import of_art, of_orders, of_shop
from service.orders.choices.choice import Choice, told
from service.orders.choices.of_art import DrawingForm, FindingKind
from service.orders.choices.of_orders import OrderBy

__all__ = ["CHOICES", "Choice", "DrawingForm", "FindingKind", "OrderBy", "told"]

CHOICES: Final[Mapping[Any, Choice]] = {**of_art.CHOICES, **of_orders.CHOICES, **of_shop.CHOICES}
