"""Rows altered by whoever can write to the database: each way is noticed at export, by scrub, or by the record.

The rows of docs/tampering.md that are about the database name these tests.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

import pytest
from sqlalchemy import Connection

from service.backup.scrubbing import unsound_archives
from service.orders.errors import ConflictError
from service.usecases import looking, privacy_and_audit, producing, shop
from service.usecases.answers import OrderAggregate
from service.usecases.batching import altered_releases
from tests.service.backup.test_commands import place_in

from .world import World, shown

Alter = Callable[[Connection, OrderAggregate], object]


def sql(statement: str) -> Alter:
    return lambda connection, _whole: connection.exec_driver_sql(statement)


ALTERED: dict[str, tuple[Alter, str]] = {
    "another proof's digest": (
        sql(
            "UPDATE proofs SET digest = (SELECT digest FROM proofs WHERE order_id NOT IN "
            "(SELECT id FROM orders WHERE state = 'released'))"
        ),
        "has not signed this proof",
    ),
    "another picture": (
        sql("UPDATE proofs SET picture = outline"),
        "has not signed this proof with this picture",
    ),
    "more pieces": (sql("UPDATE proofs SET pieces = 99"), "the number of pieces is not what was released"),
    "a kinder check": (
        sql('UPDATE proofs SET "check" = json_set("check", \'$.figures.deepest_cut\', 1.0)'),
        "the check is not what was",
    ),
    "a mirrored machine": (
        sql("UPDATE releases SET facts = json_set(facts, '$.machine.mirrored', json('true'))"),
        "the order's lines, machine or address is not what was released",
    ),
    "another quantity": (
        sql("UPDATE lines SET quantity = quantity + 1"),
        "the order's lines, machine or address is not what was released",
    ),
}


def export(world: World, whole: OrderAggregate) -> str:
    """Take a batch; why there is none, empty where there is one."""
    batch = producing.take_batch(world.ctx, world.maker, (whole.order.id,))
    world.work()
    batch = producing.get_batch(world.ctx, world.maker, batch.id)
    return "" if batch.archive else batch.message


@pytest.mark.parametrize("what", ALTERED)
def test_an_altered_row_stops_the_export_and_is_told_by_scrub(world: World, what: str):
    alter, words = ALTERED[what]
    whole = world.released()
    world.offered(("back-left",))
    assert list(altered_releases(world.ctx)) == []
    with world.database.writing() as connection:
        for (name,) in connection.exec_driver_sql(
            "SELECT name FROM sqlite_master WHERE type = 'trigger'"
        ).all():
            connection.exec_driver_sql(f"DROP TRIGGER {name}")
        alter(connection, whole)
    assert words in export(world, whole)
    assert any(words in each for each in altered_releases(world.ctx))


def test_a_drawing_put_in_the_place_of_another_leaves_the_batch_as_it_was_signed(world: World):
    """Found by an attack: one UPDATE put another order's circle into a signed archive."""
    whole = world.released()
    proof = whole.proofs[0]
    before = looking.proof_drawing(world.ctx, world.maker, proof.id, "svg")
    other = world.blobs.put(b"<svg>somebody else's circle</svg>")
    with world.database.writing() as connection:
        for form in ("svg", "dxf", "pdf"):
            connection.exec_driver_sql(
                "INSERT INTO drawings (proof_id, form, digest) VALUES (?, ?, ?)", (proof.id, form, other)
            )
    assert looking.proof_drawing(world.ctx, world.maker, proof.id, "svg") == before
    assert export(world, whole) == ""
    assert list(unsound_archives(place_in(world), privacy_and_audit.public_keys(world.ctx))) == []
    kept = [data for data in world.blobs.kept.values() if data.startswith(b"PK")]
    assert kept
    assert not any(b"somebody else's circle" in data for data in kept)


def test_an_archive_that_was_replaced_with_its_row_is_told_by_scrub(world: World):
    whole = world.released()
    assert export(world, whole) == ""
    (digest,) = [each for each, data in world.blobs.kept.items() if data.startswith(b"PK")]
    forged = world.blobs.put(world.blobs.get(digest) + b"more")
    with world.database.writing() as connection:
        connection.exec_driver_sql("UPDATE batches SET archive = ?, size = size + 4", (forged,))
    (told,) = unsound_archives(place_in(world), privacy_and_audit.public_keys(world.ctx))
    assert "the archive was wrapped by another hand" in told


def test_settings_altered_behind_the_services_back_stop_the_release(world: World):
    whole = world.approved()
    with world.database.writing() as connection:
        connection.exec_driver_sql(
            "UPDATE shop_models SET layout = json_set(layout, '$.slats[0].turn_deg', 180.0)"
        )
    with pytest.raises(ConflictError, match="checked again under today's settings"):
        producing.release(world.ctx, world.maker, whole.order.id, whole.order.revision, shown(whole))
    seen = shop.get_model(world.ctx, world.maker, "longwalk-bench")
    assert seen.layout.slats[0].turn_deg == 180.0


def test_turning_a_slat_after_both_approvals_takes_them_back(world: World):
    whole = world.approved()
    model = shop.get_model(world.ctx, world.maker, "longwalk-bench")
    first, *rest = model.layout.slats
    turned = replace(model.layout, slats=(replace(first, turn_deg=180.0), *rest))
    shop.save_model(world.ctx, world.maker, turned, {}, model.revision)
    assert [carving.state.value for carving in world.look(whole).carvings] == ["stale"]
    renamed = replace(turned, name="Another name")
    again = shop.get_model(world.ctx, world.maker, "longwalk-bench")
    shop.save_model(world.ctx, world.maker, renamed, {}, again.revision)
