"""Bodies kept while nothing changes: never another order's, never an old one, never more than may be held."""

from __future__ import annotations

import json

from hypothesis import given
from hypothesis import strategies as st

from service.orders.actors import System
from service.rest.order_cache import LARGEST_SHARE, CachedOrder, OrderCache
from service.rest.raw_json import adapter, dump
from service.rest.responses.orders import OrderBody, OrdersBody, brief_order, next_cursor, order_body
from service.usecases import looking, shop
from service.usecases.commands import PageAsk
from tests.running import Running, revision

MOST = 80


@given(st.lists(st.tuples(st.sampled_from("abcdef"), st.integers(0, 2), st.integers(0, 12)), max_size=60))
def test_what_is_given_is_what_was_last_put_and_never_too_much(steps):
    """Against a plain dictionary of everything ever put."""
    kept, last = OrderCache(MOST), {}
    for name, activity, size in steps:
        found = kept.get(name, activity)
        assert found is None or (found is last[name] and found.activity == activity)
        fresh = CachedOrder(activity, 1, b"x" * size, "")
        kept.put(name, fresh)
        last[name] = fresh
        held = [body for body in (kept.get(each, last[each].activity) for each in last) if body]
        assert sum(len(body.body) for body in held) <= MOST
        assert (kept.get(name, activity) is fresh) == (size * LARGEST_SHARE <= MOST)


def test_what_is_forgotten_is_gone():
    kept = OrderCache(MOST)
    kept.put("a", CachedOrder(1, 1, b"Imke", ""))
    kept.put_brief("a", 1, b"Imke")
    kept.forget("a")
    kept.forget("never there")
    assert kept.get("a", 1) is None and kept.briefs([("a", 1)]) == [None]


def test_a_list_gives_each_order_as_it_stands(running: Running):
    """Against the library that writes the whole body at once, before and after one of two has changed."""
    ctx, maker = running.service.ctx, running.maker()
    ids = [running.caller().send_order()["order"]["id"] for _ in range(2)]
    system = System(shop.find_workshop(ctx, "oxbarrow").id)
    for note in ("first", "second"):
        order = looking.find_order(ctx, system, ids[0])
        maker.do(
            "PATCH", f"/orders/{ids[0]}", json={"note": note}, headers={"If-Match": f'"{order.revision}"'}
        )
        listed = maker.get("/api/v1/orders?first=2&count=true")
        page = looking.list_orders(ctx, system, page=PageAsk(2, count=True))
        whole = OrdersBody(tuple(map(brief_order, page.items)), next_cursor(page), page.total)
        assert json.loads(listed.content) == json.loads(dump(adapter(OrdersBody), whole))
        assert ("link" in listed.headers) == page.more


def test_what_the_door_gives_is_the_order_as_it_stands_and_only_to_its_own(running: Running):
    placed = running.caller().send_order()
    client, other = (
        running.caller(placed["link_token"]),
        running.caller(running.caller().send_order()["link_token"]),
    )
    path = f"/api/v1/orders/{placed['order']['id']}"
    first, again = client.get(path), client.get(path)
    assert first.content == again.content and first.headers["etag"] == again.headers["etag"]
    assert client.get(path, headers={"If-None-Match": first.headers["etag"]}).status_code == 304
    assert other.get(path).status_code == 404  # kept for whoever may see it, shown to nobody else
    client.do("POST", path.removeprefix("/api/v1") + "/submission", headers=revision(placed["order"]))
    after = client.get(path)
    assert json.loads(after.content)["state"] == "submitted"
    ctx = running.service.ctx
    whole = looking.get_order(ctx, System(shop.find_workshop(ctx, "oxbarrow").id), placed["order"]["id"])
    assert after.content == dump(adapter(OrderBody), order_body(whole))
