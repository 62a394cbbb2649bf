"""What the workshop asks for its work, and what an order costs."""

from __future__ import annotations

from service.rest.operation import Answer, Operation, tagged
from service.rest.requests.prices import PricesAsk, QuoteForAsk
from service.rest.responses.prices import (
    PriceListsBody,
    PricesBody,
    order_quote_body,
    prices_body,
    quote_for_body,
)
from service.rest.use import Does, items, one
from service.usecases import pricing

TAG = "Prices and quotes"


def _prices(found: pricing.DatedPrices | None) -> Answer[PricesBody]:
    return Answer(prices_body(found), 0 if found is None else found.prices.version)


OPERATIONS = tagged(
    TAG,
    Operation(
        "GET /settings/prices",
        "getPrices",
        "Get the price list that holds now.",
        Does(pricing.get_prices, _prices),
        more="A workshop without one has version 0 and no entries; its orders are signed without a quote.",
    ),
    Operation(
        "GET /settings/prices/versions",
        "listPrices",
        "List every price list there was.",
        Does(pricing.list_prices, items(PriceListsBody, prices_body)),
    ),
    Operation(
        "PUT /settings/prices",
        "savePrices",
        "Save a new version of the price list.",
        Does(pricing.save_prices, _prices),
        graph="prices",
        ask=PricesAsk,
        more="What clients have signed keeps its price. Version 0 saves the first.",
    ),
    Operation(
        "POST /quotes",
        "quoteFor",
        "Ask what something would cost, before there is an order.",
        Does(pricing.quote_for, one(quote_for_body)),
        ask=QuoteForAsk,
        more="By the price list that holds now; nothing is kept, and no price is promised by it. Carving minutes are "
        "those of a check's proof (`proof.check.figures.minutes`).",
    ),
    Operation(
        "GET /orders/{order}/quote",
        "getQuote",
        "Get what an order costs as it stands now.",
        Does(pricing.get_quote, one(order_quote_body)),
        more="A price that was signed holds as long as what is counted stays the same.",
    ),
)
