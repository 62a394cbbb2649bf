"""Nobody's art waits for all that somebody else asked for; nobody fills the disk; what takes long has a budget."""

from __future__ import annotations

import shutil
from collections import namedtuple
from dataclasses import replace

import pytest
from sqlalchemy import select

from artwork.errors import EngineError
from service.access import rate_limit
from service.orders.actors import Scope, ShopSite, Visitor
from service.orders.errors import ConflictError, TooManyError
from service.orders.states import CarvingState
from service.store.tables import readings
from service.usecases import artworks, budgets, ordering
from service.usecases.commands import Upload
from service.usecases.patience import QUICK_CPU_SECONDS
from service.work.lanes import PATIENT_LANE, QUICK, RUSH, options_of
from tests.service.usecases.world import CREST, World, content, only

Disk = namedtuple("Disk", "total used free")


def readings_of(world: World, *wholes) -> set[str]:
    with world.database.reading() as connection:
        found = connection.execute(select(readings.c.id, readings.c.order_id)).all()
    return {row.id for row in found if row.order_id in {whole.order.id for whole in wholes}}


def test_the_first_file_of_an_order_comes_before_the_sixth_of_another(world: World, monkeypatch):
    asked: list[tuple[int, int, str]] = []

    def enqueue(_connection, kind, key, payload) -> None:
        options = options_of(kind, key, payload)
        asked.append((options["priority"], len(asked), payload["subject"]))

    monkeypatch.setattr(world.ctx.queue, "enqueue", enqueue)
    greedy, modest = world.place(), world.place()
    for number in range(6):
        world.upload(greedy, data=b"<svg>%d</svg>" % number)
    mine = world.upload(modest, data=CREST)
    asked = [each for each in asked if each[2] in readings_of(world, greedy, modest)]
    turns = [subject for _, _, subject in sorted(asked)]
    assert turns.index(only(mine).reading_id) == 1
    assert len(turns) == 7


def test_proofs_come_before_the_readings_of_the_same_turn():
    proof = options_of("prove", "a", {"turn": 0})
    reading = options_of("read-artwork", "b", {"turn": 0})
    later = options_of("prove", "c", {"turn": 1})
    assert proof["priority"] < reading["priority"] < later["priority"]
    assert "priority" not in options_of("batch", "d", {})
    lanes = [options_of("read-artwork", "e", {"turn": turn})["queue_name"] for turn in (0, 1, 9)]
    assert lanes == [QUICK, RUSH, RUSH]
    assert (
        options_of("read-artwork", "e", {"turn": 3})["priority"]
        < options_of("read-artwork", "f", {"turn": 4})["priority"]
    )


def slow(world: World, monkeypatch: pytest.MonkeyPatch, name: str) -> list[float | None]:
    """The engine ends a computation where it is given little time; what it was given."""
    given: list[float | None] = []
    run = world.compute.run

    def limited(function, *args, **how):
        if function.__name__ == name:
            given.append(how.get("cpu_seconds"))
            if how.get("cpu_seconds") is not None:
                raise EngineError(
                    "too-much-work", "This file takes more than 5 s of computing.", "Simplify it."
                )
        return run(function, *args, **how)

    monkeypatch.setattr(world.compute, "run", limited)
    return given


@pytest.mark.parametrize("name", ["read_art", "judge"])
def test_what_takes_long_is_tried_shortly_then_in_its_own_lane(world: World, monkeypatch, name):
    lanes: list[str] = []
    enqueue = world.ctx.queue.enqueue

    def noted(connection, kind, key, payload) -> None:
        lanes.append(options_of(kind, key, payload)["queue_name"])
        enqueue(connection, kind, key, payload)

    monkeypatch.setattr(world.ctx.queue, "enqueue", noted)
    given = slow(world, monkeypatch, name)
    carving = only(world.upload(world.place()))
    assert carving.state is CarvingState.CHECKED
    assert given == [QUICK_CPU_SECONDS, None]
    assert lanes.count(PATIENT_LANE) == 1


def test_an_order_has_a_budget_for_what_takes_long(world: World, monkeypatch):
    slow(world, monkeypatch, "read_art")
    whole = world.place()
    for number in range(rate_limit.PATIENT_WORK.times):
        whole = world.upload(whole, data=b"<svg>%d</svg>" % number)
        assert only(whole).state is CarvingState.CHECKED
    whole = world.upload(whole, data=b"<svg>one more</svg>")
    assert "all the computing time" in only(whole).trouble.message
    assert only(world.upload(world.place())).state is CarvingState.CHECKED  # another order's is its own
    world.clock.pass_by(hours=6, seconds=1)
    assert only(world.upload(whole, data=b"<svg>later</svg>")).trouble is None


def test_a_network_has_a_budget_for_what_takes_long_in_all_its_orders(world: World, monkeypatch):
    monkeypatch.setattr(rate_limit, "PATIENT_WORK_NETWORK", replace(rate_limit.PATIENT_WORK_NETWORK, times=1))
    slow(world, monkeypatch, "judge")

    def sent_from(address: str, data: bytes):
        whole = world.place()
        client = replace(world.client(whole.order.id), address=address)
        upload = Upload(data, "a.svg", "image/svg+xml", (only(whole).id,))
        artworks.upload_artwork(world.ctx, client, whole.order.id, upload)
        world.work()
        return only(world.look(whole))

    # One network of IPv6 is a /64 (RFC 4291 §2.5.1: interface identifiers are its last 64 bits).
    assert sent_from("2001:db8::1", b"<svg>1</svg>").state is CarvingState.CHECKED
    assert "all the computing time" in sent_from("2001:db8::2", b"<svg>2</svg>").trouble.message
    assert sent_from("2001:db8:0:1::1", b"<svg>3</svg>").state is CarvingState.CHECKED


def test_an_order_keeps_so_many_bytes(world: World, monkeypatch):
    monkeypatch.setattr(artworks, "MOST_BYTES", 100)
    whole = world.upload(world.place(), data=b"x" * 60)
    with pytest.raises(ConflictError, match="at most") as refused:
        world.upload(whole, data=b"y" * 60)
    assert refused.value.code == "too-many-files"


def test_a_network_sends_so_many_megabytes_an_hour(world: World, monkeypatch):
    monkeypatch.setattr(rate_limit, "UPLOADED", replace(rate_limit.UPLOADED, times=3))
    whole = world.place()
    client = replace(world.client(whole.order.id), address="2001:db8::1")
    upload = Upload(b"x" * 1_500_000, "a.svg", "image/svg+xml", (only(whole).id,))
    artworks.upload_artwork(world.ctx, client, whole.order.id, upload)
    artworks.upload_artwork(world.ctx, client, whole.order.id, replace(upload, data=b"y" * 1_500_000))
    kept = len(world.ctx.blobs.kept)
    neighbour = replace(client, address="2001:db8::ffff")  # the same network of 64 bits
    with pytest.raises(TooManyError):
        artworks.upload_artwork(world.ctx, neighbour, whole.order.id, replace(upload, data=b"z" * 1_500_000))
    assert len(world.ctx.blobs.kept) == kept  # nobody fills the disk by being refused
    other = replace(client, address="2001:db8:0:1::1")
    artworks.upload_artwork(world.ctx, other, whole.order.id, replace(upload, data=b"z" * 1_500_000))


def test_a_token_sends_so_many_megabytes_an_hour_from_wherever(world: World, monkeypatch):
    monkeypatch.setattr(rate_limit, "UPLOADED_BY_TOKEN", replace(rate_limit.UPLOADED_BY_TOKEN, times=3))
    monkeypatch.setattr(rate_limit, "UPLOADED", replace(rate_limit.UPLOADED, times=0))  # it has its own
    whole = world.place()
    scopes = frozenset({Scope.ORDERS_WRITE})
    site = ShopSite(world.shop.id, "t1", scopes, address="2001:db8::1")
    upload = Upload(b"x" * 1_500_000, "a.svg", "image/svg+xml", (only(whole).id,))
    counted = rate_limit.watch()
    artworks.upload_artwork(world.ctx, site, whole.order.id, upload)
    assert [(each.limit.shown, each.left) for each in counted] == [("uploads-of-token", 1)]
    elsewhere = replace(site, address="2001:db8:9::1")
    artworks.upload_artwork(world.ctx, elsewhere, whole.order.id, replace(upload, data=b"y" * 1_500_000))
    kept = len(world.ctx.blobs.kept)
    with pytest.raises(TooManyError):
        artworks.upload_artwork(world.ctx, site, whole.order.id, replace(upload, data=b"z" * 1_500_000))
    assert len(world.ctx.blobs.kept) == kept
    other = replace(site, token_id="t2")
    artworks.upload_artwork(world.ctx, other, whole.order.id, replace(upload, data=b"z" * 1_500_000))


def test_strangers_leave_the_workshop_a_part_of_the_disk(world: World, monkeypatch, tmp_path):
    whole = world.upload(world.place())
    world.ctx = replace(world.ctx, folder=tmp_path)
    monkeypatch.setattr(shutil, "disk_usage", lambda _folder: Disk(10**12, 10**12, budgets.RESERVE - 1))
    with pytest.raises(ConflictError) as refused:
        world.upload(whole, data=b"<svg>more</svg>")
    assert refused.value.code == "no-space"
    with pytest.raises(ConflictError, match="no room"):
        ordering.place_order(world.ctx, Visitor(world.shop.id), content())
    carving = only(whole)  # the workshop goes on
    upload = Upload(CREST + b" ", "b.svg", "image/svg+xml", (carving.id,))
    assert artworks.upload_artwork(world.ctx, world.maker, whole.order.id, upload)
    small = Disk(50_000_000, 44_000_000, 6_000_000)  # a small disk keeps a tenth
    monkeypatch.setattr(shutil, "disk_usage", lambda _folder: small)
    assert ordering.place_order(world.ctx, Visitor(world.shop.id), content())
