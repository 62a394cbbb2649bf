"""Events are written with what they are about; messages are sent, tried again, given up and sent again."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from datetime import UTC, datetime
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer
from threading import Thread

import pytest
from standardwebhooks.webhooks import Webhook as Library

from service.orders.actors import Scope, ShopSite
from service.orders.errors import InvalidError, NotAllowedError, NotFoundError
from service.orders.site import OrderKind
from service.orders.webhooks import DELAYS, DeliveryState
from service.usecases import webhooks
from service.usecases.opened import open_order
from service.usecases.ordering import draft
from service.work.courier import Courier
from tests.service.usecases.world import CannedCompute, World, content, make_world


class Receiver(ThreadingHTTPServer):
    """Answers as it is told, and keeps what it was sent."""

    def __init__(self) -> None:
        super().__init__(("127.0.0.1", 0), _Taking)
        self.status = 204
        self.had: list[tuple[dict[str, str], str]] = []

    @property
    def url(self) -> str:
        return f"http://127.0.0.1:{self.server_address[1]}/hooks"


class _Taking(BaseHTTPRequestHandler):
    server: Receiver

    def do_POST(self) -> None:
        body = self.rfile.read(int(self.headers["content-length"])).decode()
        self.server.had.append(({name.lower(): value for name, value in self.headers.items()}, body))
        self.send_response(self.server.status)
        self.send_header("Location", "http://127.0.0.1:9/")
        self.send_header("Content-Length", "0")
        self.end_headers()

    def log_message(self, *_: object) -> None:
        """Say nothing."""


@pytest.fixture
def receiver() -> Iterator[Receiver]:
    with Receiver() as made:
        thread = Thread(target=made.serve_forever, args=(0.01,))
        thread.start()
        yield made
        made.shutdown()
        thread.join()


def carrying(world: World) -> Courier:
    return Courier(replace(world.ctx, webhooks_anywhere=True))


def made(world: World, url: str, *kinds: str) -> webhooks.Webhook:
    return webhooks.make_webhook(replace(world.ctx, webhooks_anywhere=True), world.maker, url, kinds)


def test_events_follow_one_another_without_gaps(world: World):
    whole = world.submitted()
    found = webhooks.list_events(world.ctx, world.maker, 0, 100)
    assert [event.number for event in found] == list(range(1, len(found) + 1))
    kinds = [event.kind for event in found]
    assert kinds[0] == "order.place" and "order.submit" in kinds and "carving.prove" in kinds
    assert {event.order_id for event in found} == {whole.order.id}
    assert "Imke" not in str(found) and whole.order.contact.email not in str(found)
    assert webhooks.list_events(world.ctx, world.maker, found[-1].number, 100) == ()


def test_what_was_taken_back_leaves_no_event(world: World):
    whole = world.place()
    before = webhooks.last_event(world.ctx, world.maker)
    order = whole.order.id
    with pytest.raises(LookupError), open_order(world.ctx, world.maker, order, "cancel") as opened:
        opened.move("cancel", reason="no")
        opened.close()
        raise LookupError
    assert webhooks.last_event(world.ctx, world.maker) == before


def test_messages_are_signed_and_taken(world: World, receiver: Receiver):
    hook = made(world, receiver.url, "order")
    world.submitted()
    carrying(world).look()
    assert receiver.had
    for headers, body in receiver.had:
        at = datetime.fromtimestamp(int(headers["webhook-timestamp"]), UTC)
        assert Library(hook.secret).sign(headers["webhook-id"], at, body) == headers["webhook-signature"]
    kinds = [each.kind for each in webhooks.list_deliveries(world.ctx, world.maker, hook.id).items]
    assert set(kinds) >= {"order.place", "order.submit"} and all(kind.startswith("order.") for kind in kinds)
    states = {each.state for each in webhooks.list_deliveries(world.ctx, world.maker, hook.id).items}
    assert states == {DeliveryState.DELIVERED}


@pytest.mark.parametrize("status", [500, 302, 404])
def test_only_2xx_is_success_and_no_redirect_is_followed(world: World, receiver: Receiver, status: int):
    hook = made(world, receiver.url, "order.place")
    receiver.status = status
    world.place()
    courier = carrying(world)
    courier.look()
    (message,) = webhooks.list_deliveries(world.ctx, world.maker, hook.id).items
    assert (message.state, message.status, message.attempts) == (DeliveryState.WAITING, status, 1)
    for tries, delay in enumerate(DELAYS[1:], 2):
        world.clock.pass_by(seconds=delay.total_seconds() - 1)
        courier.look()
        assert len(receiver.had) == tries - 1
        world.clock.pass_by(seconds=1)
        courier.look()
        assert len(receiver.had) == tries
    (message,) = webhooks.list_deliveries(world.ctx, world.maker, hook.id, DeliveryState.DEAD).items
    assert (message.due_at, message.attempts) == (None, len(DELAYS))
    receiver.status = 200
    webhooks.send_again(world.ctx, world.maker, message.id)
    courier.look()
    assert webhooks.list_deliveries(world.ctx, world.maker, hook.id).items[0].state is DeliveryState.DELIVERED
    assert len({headers["webhook-id"] for headers, _ in receiver.had}) == 1


def test_410_switches_a_webhook_off(world: World, receiver: Receiver):
    hook = made(world, receiver.url)
    receiver.status = 410
    world.place()
    courier = carrying(world)
    courier.look()
    (off,) = webhooks.list_webhooks(world.ctx, world.maker)
    assert not off.enabled and "410" in off.because
    had = len(receiver.had)
    world.place()
    courier.look()
    assert len(receiver.had) == had
    receiver.status = 200
    webhooks.enable_webhook(world.ctx, world.maker, hook.id)
    world.place()
    courier.look()
    assert len(receiver.had) > had


def test_a_new_secret_signs_and_the_one_before_for_a_day(world: World, receiver: Receiver):
    hook = made(world, receiver.url, "order.place")
    renewed = webhooks.rotate_webhook_secret(world.ctx, world.maker, hook.id)
    assert renewed.secret != hook.secret
    world.place()
    carrying(world).look()
    assert len(receiver.had[-1][0]["webhook-signature"].split()) == 2
    world.clock.pass_by(hours=25)
    world.place()
    carrying(world).look()
    assert len(receiver.had[-1][0]["webhook-signature"].split()) == 1


def test_who_may(world: World):
    hook = made(world, "https://shop.example/hooks")
    with pytest.raises(NotAllowedError):
        webhooks.list_webhooks(world.ctx, world.helper)
    with pytest.raises(NotFoundError):
        webhooks.drop_webhook(world.ctx, world.stranger, hook.id)
    with pytest.raises(InvalidError):
        webhooks.make_webhook(world.ctx, world.maker, "http://127.0.0.1:8000/")
    site = ShopSite(world.maker.workshop_id, "t", frozenset({Scope.ORDERS_READ}))
    webhooks.list_events(world.ctx, site, 0, 10)
    with pytest.raises(NotAllowedError):
        webhooks.list_events(world.ctx, replace(site, scopes=frozenset()), 0, 10)
    webhooks.drop_webhook(world.ctx, world.maker, hook.id)
    assert webhooks.list_webhooks(world.ctx, world.maker) == ()


@pytest.mark.postgres
def test_orders_of_one_workshop_are_stored_side_by_side(postgres_url):
    """Its events and its orders by state are counted in rows of its own, which nobody keeps from the others."""
    world = make_world(postgres_url, CannedCompute(), prepare=False)
    now, kind = world.ctx.clock.now(), OrderKind.ORDER
    with world.database.writing() as first:
        draft(first, world.shop.id, content(), now, kind)
        with world.database.writing() as second:
            second.exec_driver_sql("SET LOCAL lock_timeout = '2s'")
            draft(second, world.shop.id, content(), now, kind)
    events = webhooks.list_events(world.ctx, world.maker, 0, 10)
    assert [event.number for event in events] == [1, 2]
    world.database.close()
