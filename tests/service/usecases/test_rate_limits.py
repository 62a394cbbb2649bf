"""Strangers who place order after order are slowed; nobody else is (OWASP ASVS 5.0.0, 2.4.1)."""

from __future__ import annotations

from dataclasses import replace

import pytest

from service.orders.actors import Scope, ShopSite, Visitor
from service.orders.errors import TooManyError
from service.orders.order import Contact
from service.root import build
from service.usecases import ordering
from service.usecases.commands import IdempotencyKey
from tests.running import settings_for
from tests.service.usecases.world import World, content


@pytest.fixture
def strict(world: World) -> World:
    world.ctx = replace(world.ctx, orders_an_hour=2)
    return world


def place(world: World, address: str, email: str, once: IdempotencyKey | None = None, **more):
    wanted = replace(content(), contact=Contact("Imke Harrowdale", email, "", ""))
    actor = more.get("actor") or Visitor(world.shop.id, address)
    return ordering.place_order(world.ctx, actor, wanted, once)


def test_one_network_address_is_slowed_and_others_are_not(strict: World):
    for number in range(2):
        place(strict, "192.0.2.7", f"imke{number}@quillfern.example")
    with pytest.raises(TooManyError) as slowed:
        place(strict, "192.0.2.7", "imke9@quillfern.example")
    assert 0 < slowed.value.retry_after <= 3600
    assert str(slowed.value) == "Too many requests. Try again in 60 minutes."
    assert str(TooManyError(3)) == "Too many requests. Try again in 3 s."
    assert place(strict, "198.51.100.9", "imke9@quillfern.example")


def test_one_mailbox_is_not_filled_from_many_addresses(strict: World):
    for host in (1, 2):
        place(strict, f"192.0.2.{host}", "imke@quillfern.example")
    with pytest.raises(TooManyError):
        place(strict, "192.0.2.3", "IMKE@Quillfern.example")
    assert place(strict, "192.0.2.3", "")


def test_it_is_over_after_an_hour_and_nothing_refused_was_stored(strict: World):
    for _ in range(2):
        place(strict, "192.0.2.7", "")
    with pytest.raises(TooManyError):
        place(strict, "192.0.2.7", "")
    strict.clock.pass_by(hours=1, seconds=1)
    assert place(strict, "192.0.2.7", "").whole.order.number == 3


def test_the_same_request_again_is_not_counted_again(strict: World):
    key = IdempotencyKey("3f0c9a52-7d14-4b8e-9c66-51d2e8a7b0f4", "the body")
    first = place(strict, "192.0.2.7", "", key)
    for _ in range(3):
        assert place(strict, "192.0.2.7", "", key).whole.order.id == first.whole.order.id
    assert place(strict, "192.0.2.7", "")


def test_ordering_again_counts_as_well(strict: World):
    whole = place(strict, "192.0.2.7", "imke@quillfern.example").whole
    client = strict.client(whole.order.id)
    ordering.reorder(strict.ctx, client, whole.order.id)
    with pytest.raises(TooManyError):
        ordering.reorder(strict.ctx, client, whole.order.id)


def test_the_workshop_and_its_sites_place_as_many_as_they_like(strict: World):
    site = ShopSite(strict.shop.id, "site", frozenset({Scope.ORDERS_WRITE, Scope.ORDERS_READ}), "192.0.2.7")
    for actor in (strict.maker, site):
        for _ in range(4):
            assert place(strict, "", "imke@quillfern.example", actor=actor)


def test_the_limit_is_a_setting(tmp_path):
    service = build(settings_for(tmp_path, orders_an_hour=7))
    assert service.ctx.orders_an_hour == 7
    service.database.close()
    service.queue.close()
