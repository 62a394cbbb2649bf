"""What a client said of an order that goes to the bench, as a batch's listing has it."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from pydantic import TypeAdapter

from service.orders.definition import bench_fields
from service.orders.order import OrderTerms

_TERMS = TypeAdapter(OrderTerms)
_FIRST = frozenset({"needed_by", "note", "purchase_order"})
"""Fields of the first listings. What came later is left out where nothing is said: older listings stay as they are."""


def plain_terms(terms: OrderTerms) -> dict[str, Any]:
    """Name → plain value, by the definition of the terms."""
    given: dict[str, Any] = _TERMS.dump_python(terms, mode="json", include=set(bench_fields(OrderTerms)))
    return {name: said for name, said in given.items() if said or name in _FIRST}


def terms_from(plain: Mapping[str, Any]) -> OrderTerms:
    """The terms that :func:`plain_terms` came from."""
    return _TERMS.validate_python(dict(plain))
