"""The commands for a workshop's owner: what they do, what they say, and that they refuse in words."""

from __future__ import annotations

import pytest
import sqlalchemy as sa

from service.backup.scrubbing import scrub
from service.cli import main
from service.maintenance import let_go
from service.orders.upkeep import Chore, Done
from service.root import build
from service.settings import Settings
from service.store import tables, upkeep
from tests.parts.object_store import ObjectStore
from tests.parts.shape import variables
from tests.service.usecases.world import CannedCompute, World, make_world

from .conftest import place_in
from .test_copies import filled


@pytest.fixture
def folder(tmp_path):
    """The data folder of a workshop with orders, as `serve` would have left it."""
    settings = Settings(data=tmp_path / "data")
    service = build(settings)
    service.migrate()
    world = make_world(settings.database_url, CannedCompute(), prepare=False)
    filled(world)
    for data in world.blobs.kept.values():
        service.ctx.blobs.put(data)
    world.database.close()
    let_go(service)
    return settings.data


def last_done(folder) -> dict[Chore, Done]:
    service = build(Settings(data=folder))
    with service.database.reading() as connection:
        found = upkeep.last_done(connection)
    let_go(service)
    return found


def clients_file(folder) -> str:
    service = build(Settings(data=folder))
    with service.database.reading() as connection:
        digest = connection.scalars(
            sa.select(tables.artworks.c.sha256).order_by(tables.artworks.c.uploaded_at)
        ).first()
    let_go(service)
    return str(digest)


def test_backed_up_and_put_back_by_command(folder, tmp_path, capsys):
    assert main(["backup", str(tmp_path / "backups"), "--keep", "2", "--data", str(folder)]) == 0
    assert last_done(folder)[Chore.BACKUP].well
    assert main(["restore", str(tmp_path / "backups"), "--data", str(tmp_path / "new")]) == 0
    said = capsys.readouterr().out
    assert (
        "Everything is there and every chain holds." in said and "1 unfinished jobs asked for again" in said
    )
    assert main(["verify-record", "--data", str(tmp_path / "new")]) == 0
    assert main(["restore", str(tmp_path / "backups"), "--data", str(folder)]) == 1
    assert "empty" in capsys.readouterr().err


def test_a_hurt_file_is_named_with_its_orders_and_healed(folder, tmp_path, capsys):
    backups = str(tmp_path / "backups")
    assert main(["backup", backups, "--data", str(folder)]) == 0
    digest = clients_file(folder)
    hurt = folder / "blobs" / digest[:2] / digest
    hurt.write_bytes(b"worn out")
    assert main(["scrub", "--data", str(folder)]) == 1
    out, err = capsys.readouterr()
    assert f"damaged: the file a client sent; orders 1; file {digest}" in out and "--heal" in err
    assert not last_done(folder)[Chore.SCRUB].well
    assert main(["backup", backups, "--data", str(folder)]) == 0, "the good copy in the folder is kept"
    assert main(["scrub", "--heal", backups, "--data", str(folder)]) == 0
    assert main(["scrub", "--data", str(folder)]) == 0
    assert last_done(folder)[Chore.SCRUB].words.endswith("0 hurt, 0 of them healed")


def test_every_kind_of_file_is_told_with_the_orders_it_touches(world: World):
    filled(world)
    for digest in world.blobs.kept:
        world.blobs.damage(digest)
    files, hurt = scrub(place_in(world))
    assert files == len(hurt) and all(each.how == "damaged" for each in hurt)
    assert {each.orders for each in hurt} == {(1,), (2,)}
    assert {"the file a client sent", "a proof's picture", "a proof's facts", "a batch's archive"} <= {
        each.what for each in hurt
    }


def test_files_that_nothing_names_are_swept(folder, capsys):
    orphan = folder / "blobs" / "ab" / ("ab" * 32)
    orphan.parent.mkdir(exist_ok=True)
    orphan.write_bytes(b"forgotten")
    assert main(["sweep", "--data", str(folder)]) == 0
    assert orphan.exists(), "it may be about to be named"
    import os

    os.utime(orphan, (0, 0))
    assert main(["sweep", "--data", str(folder)]) == 0
    assert not orphan.exists()
    assert "1 unnamed files removed" in capsys.readouterr().out


@pytest.mark.s3
@pytest.mark.postgres
def test_moved_to_the_large_shape_and_back(folder, tmp_path, empty_postgres_url, capsys, monkeypatch):
    objects = ObjectStore(tmp_path / "objects")
    objects.start()
    large = variables({"database": empty_postgres_url, "data": tmp_path / "large", **objects.settings()})
    small = variables({"data": tmp_path / "small"})
    for name, values in (("large", large), ("small", small)):
        lines = "".join(f"{key}={value}\n" for key, value in values.items())
        (tmp_path / f"{name}.env").write_text(f"# where it goes\n\n{lines}")
    try:
        assert main(["move", "--to", str(tmp_path / "large.env"), "--data", str(folder)]) == 0
        assert main(["move", "--to", str(tmp_path / "large.env"), "--data", str(folder)]) == 1, (
            "no longer empty"
        )
        with monkeypatch.context() as environ:
            for key, value in large.items():
                environ.setenv(key, value)
            assert main(["scrub"]) == 0
            assert main(["move", "--to", str(tmp_path / "small.env")]) == 0
        assert main(["scrub", "--data", str(tmp_path / "small")]) == 0
    finally:
        objects.part.kill()
    said = capsys.readouterr().out
    assert said.count("Everything is there and every chain holds.") == 2


def test_a_folder_in_use_is_not_moved(folder, tmp_path, capsys):
    service = build(Settings(data=folder))
    service.migrate()
    (tmp_path / "there.env").write_text(f"SLATPROOF_DATA={tmp_path / 'there'}\n")
    assert main(["move", "--to", str(tmp_path / "there.env"), "--data", str(folder)]) == 1
    assert "Stop that one first" in capsys.readouterr().err
    let_go(service)
    (tmp_path / "there.env").write_text("DATA=/there\n")
    assert main(["move", "--to", str(tmp_path / "there.env"), "--data", str(folder)]) == 1
    assert "line 1" in capsys.readouterr().err
