"""Items at the bench: every slat of every piece of a released order."""

from __future__ import annotations

from service.rest.operation import Bytes, Call, Operation, tagged
from service.rest.requests.items import JointQuery, RemakeAsk, ShiftAsk, TickAsk
from service.rest.responses.items import item_body, items_body
from service.rest.use import Does, bytes_of, one
from service.usecases import items, joint_boards, remaking, shifting

TAG = "Items at the bench"


def _joint(call: Call) -> Bytes:
    made = joint_boards.joint_sheets(call.ctx, call.actor, call.query.orders)
    return Bytes(made, "application/zip", "joint-boards.zip")


def _drawing(call: Call) -> Bytes:
    order, item, form = (call.path[name] for name in ("order", "item", "form"))
    made = shifting.item_drawing(call.ctx, call.actor, order, item, form)
    return Bytes(made.data, made.content_type, f"{item}.{form}")


OPERATIONS = tagged(
    TAG,
    Operation(
        "GET /orders/{order}/items",
        "listItems",
        "List every slat of every piece of a released order, and how far each is.",
        Does(items.list_items, one(items_body)),
        problems=("not-released",),
    ),
    Operation(
        "GET /orders/{order}/items/{item}",
        "getItem",
        "Get one item by its key.",
        Does(items.get_item, one(item_body)),
        problems=("not-released",),
        more="The key is on the item's label: line, piece, board, slat.",
    ),
    Operation(
        "POST /orders/{order}/ticks",
        "tickItems",
        "Say that items are carved, cut out, finished or packed.",
        Does(items.tick_items, one(items_body)),
        graph="",
        ask=TickAsk,
        problems=("not-released", "item-moved", "item-broken"),
        more="All of them or none. An item that somebody else ticked meanwhile, or whose label is scanned twice, is "
        "not ticked again; `detail` says who ticked it and when. The first tick of a released order starts its "
        "production. A wrong tick is taken back by ticking the earlier state.",
    ),
    Operation(
        "POST /orders/{order}/items/{item}/remake",
        "remakeItem",
        "Say that a board broke, and have it made again.",
        Does(items.remake_item, one(item_body)),
        graph="",
        ask=RemakeAsk,
        problems=("not-released", "already-remade"),
        more="By the same approval: no new signature and no price. The answer is the new item; it stands on a line of "
        "its own on the next sheet.",
    ),
    Operation(
        "POST /orders/{order}/items/{item}/shift",
        "shiftItem",
        "Shift the art of one board, away from a knot.",
        Does(shifting.shift_item, one(item_body)),
        graph="",
        ask=ShiftAsk,
        problems=("not-released", "item-moved", "will-not-carve", "remarks-open"),
        more="Within what the client allowed when signing (`may_shift`); the shifted cut is judged like any other. Its "
        "drawing is `getItemDrawing`, with a zero of its own.",
    ),
    Operation(
        "GET /orders/{order}/items/{item}/drawing.{form}",
        "getItemDrawing",
        "Get the drawing of one board's art, its shift in it, as it lies on the machine.",
        _drawing,
        file=("image/svg+xml", "image/vnd.dxf", "application/pdf"),
        problems=("not-released",),
    ),
    Operation(
        "GET /orders/{order}/remakes.zip",
        "getRemakeSheets",
        "Get beds, list of parts and labels of the boards that are to be made again.",
        Does(remaking.remake_sheets, bytes_of("application/zip", "made-again.zip")),
        file=("application/zip",),
        problems=("not-released", "nothing-to-remake", "no-board"),
        more="A line of its own for each; boards that are carved or cut out already are left out.",
    ),
    Operation(
        "GET /joint-boards.zip",
        "getJointSheets",
        "Get beds, lists of parts and labels of released orders that share their boards.",
        _joint,
        query=JointQuery,
        file=("application/zip",),
        problems=("not-released", "no-board", "other-machine"),
        more="One plan for all of them: boards are numbered through, and each order's list and labels name them so. "
        "They take the place of the beds, lists and labels of their batches, whose carvings and job sheets stay. "
        "Art that was shifted on a board since is drawn where it is carved now; one order alone may be named for that.",
    ),
)
