"""Items at the bench: every slat of every piece of a released order."""

from __future__ import annotations

from service.rest.operation import Bytes, Call, Operation
from service.rest.requests.items import RemakeAsk, TickAsk
from service.rest.responses.items import ItemBody, ItemsBody, item_body, items_body
from service.rest.use import Does, one
from service.usecases import items, remaking

TAG = "Items at the bench"
_ITEMS = "/orders/{order}/items"


def _sheets(call: Call) -> Bytes:
    made = remaking.remake_sheets(call.ctx, call.actor, call.path["order"])
    return Bytes(made, "application/zip", "made-again.zip")


OPERATIONS = (
    Operation(
        "GET",
        _ITEMS,
        "listItems",
        "List every slat of every piece of a released order, and how far each is.",
        TAG,
        Does(items.list_items, one(items_body)),
        gives=ItemsBody,
        problems=("not-released",),
    ),
    Operation(
        "GET",
        _ITEMS + "/{item}",
        "getItem",
        "Get one item by its key.",
        TAG,
        Does(items.get_item, one(item_body)),
        gives=ItemBody,
        problems=("not-released",),
        more="The key is on the item's label: line, piece, board, slat.",
    ),
    Operation(
        "POST",
        "/orders/{order}/ticks",
        "tickItems",
        "Say that items are carved, cut out, finished or packed.",
        TAG,
        Does(items.tick_items, one(items_body)),
        graph="",
        ask=TickAsk,
        gives=ItemsBody,
        problems=("not-released", "item-moved", "item-broken"),
        more="All of them or none. An item that somebody else ticked meanwhile, or whose label is scanned twice, is "
        "not ticked again; `detail` says who ticked it and when. The first tick of a released order starts its "
        "production. A wrong tick is taken back by ticking the earlier state.",
    ),
    Operation(
        "POST",
        _ITEMS + "/{item}/remake",
        "remakeItem",
        "Say that a board broke, and have it made again.",
        TAG,
        Does(items.remake_item, one(item_body)),
        graph="",
        ask=RemakeAsk,
        gives=ItemBody,
        problems=("not-released", "already-remade"),
        more="By the same approval: no new signature and no price. The answer is the new item; it stands on a line of "
        "its own on the next sheet.",
    ),
    Operation(
        "GET",
        "/orders/{order}/remakes.zip",
        "getRemakeSheets",
        "Get beds, list of parts and labels of the boards that are to be made again.",
        TAG,
        _sheets,
        file=("application/zip",),
        problems=("not-released", "nothing-to-remake", "no-board"),
        more="A line of its own for each; boards that are carved or cut out already are left out.",
    ),
)
