"""Settings are kept by what they are stamped with: never older than the store, never what was not committed."""

from __future__ import annotations

from dataclasses import replace

import pytest

from service.store import shop
from tests.service.usecases.world import World


def read(world: World) -> object:
    with world.database.reading() as connection:
        return shop.read_settings(connection, world.maker.workshop_id)


def test_what_did_not_change_is_not_read_again(world: World):
    assert read(world) is read(world)


def test_what_changed_is_seen_at_once(world: World):
    before = read(world)
    with world.database.writing() as connection:
        model = shop.read_settings(connection, world.maker.workshop_id).models[0]
        shop.save_model(
            connection, world.maker.workshop_id, replace(model, retired=True, revision=model.revision + 1)
        )
    after = read(world)
    assert after is not before
    assert after.models[0].retired  # type: ignore[attr-defined]


def test_what_was_taken_back_is_never_kept(world: World):
    before = read(world)

    class NoError(Exception):
        pass

    with pytest.raises(NoError), world.database.writing() as connection:
        workshop = shop.find_workshop(connection, world.maker.workshop_id)
        assert workshop is not None
        shop.update_workshop(connection, replace(workshop, name="Never", revision=workshop.revision + 1))
        assert shop.read_settings(connection, workshop.id).workshop.name == "Never"
        raise NoError
    assert read(world) == before
    with world.database.writing() as connection:
        workshop = shop.find_workshop(connection, world.maker.workshop_id)
        assert workshop is not None
        shop.update_workshop(connection, replace(workshop, name="Later", revision=workshop.revision + 1))
    assert read(world).workshop.name == "Later"  # type: ignore[attr-defined]
