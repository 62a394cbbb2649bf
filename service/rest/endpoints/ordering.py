"""Orders: placed, looked at, amended, sent off, cancelled, ordered again, made."""

from __future__ import annotations

from collections.abc import Sequence

from service.orders.order import Order
from service.rest.conditional import revision_tag
from service.rest.operation import Answer, Call, Operation, tagged
from service.rest.order_cache import CachedOrder
from service.rest.raw_json import adapter, dump
from service.rest.requests.cutting import ProofsAsk
from service.rest.requests.orders import OrderAsk, OrderChangeAsk, OrdersQuery, ReasonAsk, SplitAsk, TravelAsk
from service.rest.responses.orders import (
    ActivityBody,
    BriefOrder,
    NewOrderBody,
    OrderBody,
    OrdersBody,
    brief_order,
    new_order_body,
    next_cursor,
    order_body,
    order_url,
)
from service.rest.use import Does
from service.usecases import looking, ordering, producing, splitting
from service.usecases.answers import OrderAggregate, PlacedOrder

TAG = "Orders"


def whole(order: OrderAggregate) -> Answer[OrderBody]:
    """The answer of everything that changes an order."""
    return Answer(order_body(order), order.order.revision, of=f"order {order.order.id}")


def _split(part: OrderAggregate) -> Answer[OrderBody]:
    order = part.order
    return Answer(order_body(part), order.revision, order_url(order.id), of=f"order {order.id}")


def placed(new: PlacedOrder) -> Answer[NewOrderBody]:
    """The answer of everything that makes an order."""
    order = new.whole.order
    return Answer(new_order_body(new), order.revision, order_url(order.id), of=f"order {order.id}")


def _list(call: Call) -> Answer[OrdersBody]:
    wanted, page = call.query.wanted, call.query.page
    found = looking.list_orders(call.ctx, call.actor, wanted, page, only=frozenset({"id", "activity"}))
    briefs = _briefs(call, found.items)
    around = OrdersBody((), next_cursor(found), found.total)
    written = dump(adapter(OrdersBody), around).replace(b"[]", b"[%b]" % b",".join(briefs), 1)
    return Answer(around, written=written)


def _briefs(call: Call, orders: Sequence[Order]) -> list[bytes]:
    """How each stands in a list; those that changed since are read, the others are kept."""
    kept = call.kept.briefs((order.id, order.activity) for order in orders)
    lacking = [order.id for order, brief in zip(orders, kept, strict=True) if brief is None]
    fresh: dict[str, bytes] = {}
    for order in looking.orders_by_ids(call.ctx, call.actor, lacking) if lacking else ():
        if order is not None:
            fresh[order.id] = brief = dump(adapter(BriefOrder), brief_order(order))
            call.kept.put_brief(order.id, order.activity, brief)
    return [brief or fresh[order.id] for order, brief in zip(orders, kept, strict=True)]


def _counts(call: Call) -> Answer[dict[str, int]]:
    return Answer(looking.count_states(call.ctx, call.actor))


def _kept(call: Call) -> Answer[OrderBody] | None:
    order_id = call.path["order"]
    kept = call.kept.get(order_id, looking.get_activity(call.ctx, call.actor, order_id))
    return None if kept is None else _given(kept)


def _get(call: Call) -> Answer[OrderBody]:
    return _kept(call) or _written(call)


def _written(call: Call) -> Answer[OrderBody]:
    found = looking.get_order(call.ctx, call.actor, call.path["order"])
    order = found.order
    body = dump(adapter(OrderBody), order_body(found))
    tag = revision_tag(order.revision, body, f"order {order.id}")
    kept = CachedOrder(order.activity, order.revision, body, tag)
    call.kept.put(order.id, kept)
    return _given(kept)


def _given(kept: CachedOrder) -> Answer[OrderBody]:
    return Answer(written=kept.body, revision=kept.revision, tag=kept.tag)


def _activity(call: Call) -> Answer[ActivityBody]:
    return Answer(ActivityBody(looking.get_activity(call.ctx, call.actor, call.path["order"])))


_CHANGES = ("stale", "wrong-state")

OPERATIONS = tagged(
    TAG,
    Operation(
        "POST /workshops/{workshop}/orders",
        "placeOrder",
        "Place an order at a workshop; it starts as a draft.",
        Does(ordering.place_order, placed),
        graph="order",
        ask=OrderAsk,
        status=201,
        public=True,
        problems=("no-space", "site-number-taken"),
        more="The answer holds the secret of the client's link, this once. Use it as a bearer token for "
        "everything else about the order.",
    ),
    Operation("GET /orders", "listOrders", "List the orders you may see.", _list, query=OrdersQuery),
    Operation("GET /orders/counts", "countOrders", "Count the orders in each state.", _counts),
    Operation("GET /orders/{order}", "getOrder", "Get an order with everything in it.", _get, at_hand=_kept),
    Operation(
        "GET /orders/{order}/activity",
        "getOrderActivity",
        "Ask whether anything within an order has changed.",
        _activity,
        at_hand=_activity,
    ),
    Operation(
        "PATCH /orders/{order}",
        "amendOrder",
        "Change what an order says; what is left out stays.",
        Does(ordering.amend_order, whole),
        graph="order",
        ask=OrderChangeAsk,
        problems=_CHANGES,
        more="A line whose model or quantity changes loses its approvals; one that is not among the `lines` sent goes.",
    ),
    Operation(
        "PUT /orders/{order}/travel",
        "setTravel",
        "Say how far it is to the site and back.",
        Does(ordering.set_travel, whole),
        graph="",
        ask=TravelAsk,
        problems=_CHANGES,
        more="The price counts it where the order is delivered and the price list has a price for a kilometre.",
    ),
    Operation(
        "POST /orders/{order}/submission",
        "submitOrder",
        "Send a complete draft to the maker.",
        Does(ordering.submit_order, whole),
        graph="",
        problems=_CHANGES,
    ),
    Operation(
        "POST /orders/{order}/cancellation",
        "cancelOrder",
        "Cancel an order, with a reason.",
        Does(ordering.cancel_order, whole),
        graph="",
        ask=ReasonAsk,
        problems=_CHANGES,
    ),
    Operation(
        "POST /orders/{order}/copies",
        "reorder",
        "Order the same again: a new draft, checked under today's settings.",
        Does(ordering.reorder, placed),
        graph="",
        status=201,
        problems=("erased", "model-retired", "no-space"),
    ),
    Operation(
        "POST /orders/{order}/parts",
        "splitOrder",
        "Make some pieces of an order an order of their own, to be made and delivered earlier.",
        Does(splitting.split_order, _split),
        graph="",
        ask=SplitAsk,
        status=201,
        problems=_CHANGES,
        more="The answer is the new order. Approvals go with the pieces, for they hang on proofs; one quote holds for "
        "both. A released order is recalled first, and both are released again.",
    ),
    Operation(
        "POST /orders/{order}/release",
        "releaseOrder",
        "Release a fully approved order for production.",
        Does(producing.release, whole),
        graph="",
        ask=ProofsAsk,
        problems=("not-approved", "not-current", "mark-changed", "not-paid", "not-an-order", *_CHANGES),
        more="`shown` names the proof of every carving, `whole` every list and large picture. "
        "What is not fully approved is refused.",
    ),
    Operation(
        "POST /orders/{order}/recall",
        "recallOrder",
        "Take a release back, with a reason.",
        Does(producing.recall, whole),
        graph="",
        ask=ReasonAsk,
        problems=_CHANGES,
    ),
    Operation(
        "POST /orders/{order}/production",
        "startProduction",
        "Say that the first board is on the machine.",
        Does(producing.start_production, whole),
        graph="",
        problems=_CHANGES,
    ),
    Operation(
        "POST /orders/{order}/completion",
        "finishProduction",
        "Say that all pieces are done.",
        Does(producing.finish_production, whole),
        graph="",
        problems=_CHANGES,
    ),
)
