"""A slat that leaves its model while orders carve it: everything about those orders is still shown."""

from __future__ import annotations

import re
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import replace

from service.orders.actors import Maker
from service.usecases import shop
from tests.journeys.test_season import CHAIR, chairs, released
from tests.running import API, FROM_HERE, Caller, Running

GONE = "back-centre"


@contextmanager
def without_the_slat(running: Running) -> Iterator[None]:
    """The chair has no wide slat meanwhile."""
    ctx = running.service.ctx
    maker = Maker(shop.find_workshop(ctx, "oxbarrow").id, "a", "Maker")
    model = shop.get_model(ctx, maker, CHAIR)
    left = replace(model.layout, slats=tuple(each for each in model.layout.slats if each.slat.key != GONE))
    changed = shop.save_model(ctx, maker, left, {}, model.revision)
    try:
        yield
    finally:
        shop.save_model(ctx, maker, model.layout, model.allowances, changed.revision)


def failing(caller: Caller, start: str, room: str) -> list[str]:
    """Addresses of a room, reached from a page of it, that end in an error of the service."""
    seen, waiting, found = {start}, [start], []
    while waiting:
        page = caller.get(address := waiting.pop(), follow_redirects=False)
        if page.status_code >= 500:
            found.append(address)
        links = (
            set(re.findall(r'(?:href|src)="(/[^"#?]*)', page.text))
            if "html" in page.headers["content-type"]
            else set()
        )
        new = {link for link in links if re.match(room, link)} - seen
        seen |= new
        waiting += new
    return found


def test_orders_are_shown_when_a_slat_is_gone(running: Running):
    """It was 500 for the client's page and the bench's."""
    maker, failed = running.maker(), []
    client, draft = chairs(running, 1)
    other, order = chairs(running, 2)
    bare = running.caller().send_order(lines=[{"model_key": CHAIR, "quantity": 1, "slats": [GONE]}])
    orders = [
        (running.caller(bare["link_token"]), bare["order"]),
        (client, draft),
        (other, released(running, other, order)),
    ]
    with without_the_slat(running):
        for client, order in orders:
            one = order["id"]
            browser = running.caller(headers=FROM_HERE)
            browser.get(f"/link/{client.headers['Authorization'].split()[1]}", follow_redirects=True)
            failed += failing(browser, f"/order/{one}", f"/order/{one}")
            failed += failing(maker, f"/bench/orders/{one}", f"(/bench|{API})/orders/{one}")
            assert browser.get(f"/order/{one}").status_code == 200
            assert maker.get(f"/bench/orders/{one}").status_code == 200
            failed += [f"quote of {one}"] * (client.get(f"{API}/orders/{one}/quote").status_code >= 500)
    assert failed == []
