"""One workshop leaves a place with three for a place that has another: whole, checked, and nobody else's is touched."""

from __future__ import annotations

import pytest
import sqlalchemy as sa

from service.backup.one_shop import close_shop, lines_of_shop, move_shop
from service.backup.place import Place, UnfitError, table_names
from service.backup.rows import Tally, lines_of
from service.orders.actors import Role, System
from service.store import access_tables, art
from service.store.shop import read_settings
from service.usecases import people, privacy_and_audit, shop
from tests.service.usecases.world import World

from .conftest import place_in
from .test_copies import filled, undone


def tally_of(place: Place, workshop_id: str) -> Tally:
    tally = Tally()
    with place.database.reading() as connection:
        for _ in tally.over(lines_of_shop(connection, workshop_id)):
            pass
    return tally


def found_another(place: Place, world: World, key: str) -> str:
    """A workshop with a maker; its id."""
    with world.database.reading() as connection:
        like = read_settings(connection, world.shop.id)
    founded = shop.open_workshop(
        place.ctx, key, f"The shop {key}", like.bits[0].bit, like.workshop.allowances
    )
    sign_up(place, founded.id, f"odo@{key}.example")
    return founded.id


def sign_up(place: Place, workshop_id: str, email: str) -> None:
    people.open_account(
        place.ctx, workshop_id, email, name="Odo Fenwick", role=Role.MAKER, password="cedar in the long rain"
    )


@pytest.mark.parametrize("kind", ["sqlite", pytest.param("postgres", marks=pytest.mark.postgres)])
def test_one_of_three_goes_to_a_place_with_another(world: World, empty_places, kind: str):
    filled(world)
    source, target = place_in(world), empty_places(kind)
    found_another(source, world, "third-shop")
    target.finish()
    there = found_another(target, world, "fourth-shop")
    mine, untouched = tally_of(source, world.shop.id), tally_of(target, there)
    waiting = undone(source)

    moved = move_shop(source, target, world.shop.key)

    assert (moved.faults, moved.files.missing, moved.files.damaged) == ((), [], [])
    assert moved.rows == mine.rows.total() > 50
    assert moved.jobs == len(waiting) == 1
    after = tally_of(target, world.shop.id)
    assert (after.rows, after.digest) == (mine.rows, mine.digest), "row by row what it was"
    assert tally_of(target, there).digest == untouched.digest
    assert privacy_and_audit.verify_record(target.ctx, System(world.shop.id)) is None
    assert privacy_and_audit.verify_record(target.ctx, System(there)) is None
    with world.database.reading() as connection:
        named = art.blobs_of_workshop(connection, world.shop.id)
    assert named
    assert all(target.blobs.get(digest) == world.blobs.get(digest) for digest in named)
    assert [each.key for each in shop.list_workshops(target.ctx)] == ["fourth-shop", world.shop.key]
    # the source is as it was, all three of it
    assert tally_of(source, world.shop.id).digest == mine.digest
    assert len(shop.list_workshops(source.ctx)) >= 3
    assert privacy_and_audit.verify_record(source.ctx, System(world.shop.id)) is None


def test_every_table_says_whose_its_rows_are(world: World):
    """A table that another change adds is moved along, or this fails."""
    filled(world)
    with world.database.reading() as connection:
        told = [line["table"] for line in lines_of_shop(connection, world.shop.id) if isinstance(line, dict)]
        every = [line["table"] for line in lines_of(connection, table_names()) if isinstance(line, dict)]
    assert set(every) - set(told) == {"attempts", "sessions", "session_links", "upkeep"}


def test_what_is_taken_there_is_refused_and_changes_nothing(world: World, empty_places):
    source, target = place_in(world), empty_places("sqlite")
    found_another(source, world, "third-shop")
    target.finish()
    found_another(target, world, "third-shop")
    with pytest.raises(UnfitError, match="There is a workshop third-shop"):
        move_shop(source, target, "third-shop")
    with pytest.raises(UnfitError, match="There is no workshop nowhere"):
        move_shop(source, target, "nowhere")
    sign_up(target, shop.list_workshops(target.ctx)[0].id, "imke@quillfern.example")
    sign_up(source, world.shop.id, "imke@quillfern.example")
    with pytest.raises(UnfitError, match=r"imke@quillfern\.example"):
        move_shop(source, target, world.shop.key)
    assert [each.key for each in shop.list_workshops(target.ctx)] == ["third-shop"]


def test_a_shop_that_is_closed_lets_nobody_in(world: World):
    found_another(place_in(world), world, "third-shop")
    close_shop(place_in(world), "third-shop", world.clock.now())
    ended = sa.select(access_tables.accounts.c.email).where(access_tables.accounts.c.disabled_at.is_not(None))
    with world.database.reading() as connection:
        assert list(connection.scalars(ended)) == ["odo@third-shop.example"]
