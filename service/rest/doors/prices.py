"""What the workshop asks for its work, and what an order costs."""

from __future__ import annotations

from service.rest.asks.prices import PricesAsk
from service.rest.bodies.prices import (
    OrderQuoteBody,
    PriceListsBody,
    PricesBody,
    order_quote_body,
    prices_body,
)
from service.rest.operation import Answer, Call, Operation
from service.usecases import pricing

TAG = "Prices and quotes"


def _get(call: Call) -> Answer:
    body = prices_body(pricing.get_prices(call.ctx, call.actor))
    return Answer(body, body.version)


def _list(call: Call) -> Answer:
    found = pricing.list_prices(call.ctx, call.actor)
    return Answer(PriceListsBody(tuple(prices_body(each) for each in found)))


def _save(call: Call) -> Answer:
    body = prices_body(pricing.save_prices(call.ctx, call.actor, call.ask.content(), call.revision))
    return Answer(body, body.version)


def _quote(call: Call) -> Answer:
    return Answer(order_quote_body(pricing.get_quote(call.ctx, call.actor, call.path["order"])))


OPERATIONS = (
    Operation(
        "GET",
        "/settings/prices",
        "getPrices",
        "Get the price list that holds now.",
        TAG,
        _get,
        gives=PricesBody,
        more="A workshop without one has version 0 and no entries; its orders are signed without a quote.",
    ),
    Operation(
        "GET",
        "/settings/prices/versions",
        "listPrices",
        "List every price list there was.",
        TAG,
        _list,
        gives=PriceListsBody,
    ),
    Operation(
        "PUT",
        "/settings/prices",
        "savePrices",
        "Save a new version of the price list.",
        TAG,
        _save,
        ask=PricesAsk,
        gives=PricesBody,
        conditional=True,
        problems=("stale",),
        more='`If-Match: "0"` saves the first. What clients have signed keeps its price.',
    ),
    Operation(
        "GET",
        "/orders/{order}/quote",
        "getQuote",
        "Get what an order costs as it stands now.",
        TAG,
        _quote,
        gives=OrderQuoteBody,
        more="A price that was signed holds as long as what is counted stays the same.",
    ),
)
