"""Backups and moves: the same rows, the same files, the chain whole, unfinished work asked for again."""

from __future__ import annotations

import gzip
import json
import threading
from datetime import UTC, datetime, timedelta

import pytest
import sqlalchemy as sa

from service.backup import patience
from service.backup.backing_up import ROWS, backups_in, drop_old, open_backup, take_backup
from service.backup.files import copy_files
from service.backup.moving import move, restore
from service.backup.patience import patiently
from service.backup.place import Place, UnfitError, table_names
from service.backup.rows import Tally, lines_of
from service.store import art
from service.store.blobs import BlobsAwayError, FolderBlobs
from service.store.migrating import SchemaAheadError
from service.store.record_tables import jobs
from service.usecases import artworks, looking, ordering, privacy_and_audit, producing, shop
from service.usecases.commands import PageAsk, Upload
from tests.service.usecases.world import RING, World, content

from .conftest import place_in

NOW = datetime(2026, 11, 25, 3, 0, tzinfo=UTC)


def rows_of(place: Place) -> Tally:
    tally = Tally()
    with place.database.reading() as connection:
        names = set(table_names()) - {"upkeep"}  # of the place itself, not of its data
        for _ in tally.over(lines_of(connection, names)):
            pass
    return tally


def filled(world: World) -> None:
    """A released order, a finished batch, and work in flight."""
    whole = world.released(("back-wide", "back-left"))
    producing.take_batch(world.ctx, world.maker, (whole.order.id,))
    world.work()
    waiting = ordering.place_order(world.ctx, world.visitor, content()).whole
    upload = Upload(RING % b"9", "ring.svg", "image/svg+xml", (waiting.carvings[0].id,))
    artworks.upload_artwork(world.ctx, world.client(waiting.order.id), waiting.order.id, upload)


def undone(place: Place) -> set[str]:
    with place.database.reading() as connection:
        return set(connection.scalars(sa.select(jobs.c.id).where(jobs.c.state.in_(("waiting", "running")))))


def asked(place: Place) -> set[str]:
    table = (
        "dbos.workflow_status" if place.database.engine.dialect.name == "postgresql" else "workflow_status"
    )
    with place.database.reading() as connection:
        return set(connection.scalars(sa.text(f"SELECT workflow_uuid FROM {table}")))


@pytest.mark.parametrize("target", ["sqlite", pytest.param("postgres", marks=pytest.mark.postgres)])
def test_a_backup_put_back_elsewhere_is_the_same(either_world: World, empty_places, tmp_path, target):
    filled(either_world)
    source, there = place_in(either_world), empty_places(target)
    backup, copied = take_backup(source, tmp_path / "backups", NOW)
    assert (copied.missing, copied.damaged) == ([], [])
    moved = restore(open_backup(tmp_path / "backups"), there)
    assert rows_of(there).digest == rows_of(source).digest
    assert moved.rows == sum(backup.about["rows"].values()) > 50
    assert (
        {e.digest for e in there.blobs.entries()}
        == set(backup.files)
        == privacy_and_audit.wanted_blobs(source.ctx)
    )
    assert all(there.blobs.get(digest) == either_world.blobs.kept[digest] for digest in backup.files)
    assert (moved.faults, moved.entries > 5) == ((), True)
    assert asked(there) == undone(source) != set()


@pytest.mark.parametrize("target", ["sqlite", pytest.param("postgres", marks=pytest.mark.postgres)])
def test_a_move_is_the_same_and_goes_on(either_world: World, empty_places, target):
    filled(either_world)
    source, there = place_in(either_world), empty_places(target)
    moved = move(source, there)
    assert rows_of(there).digest == rows_of(source).digest
    assert moved.faults == ()
    assert shop.get_settings(there.ctx, either_world.maker) == shop.get_settings(
        source.ctx, either_world.maker
    )
    numbers = [o.number for o in looking.list_orders(there.ctx, either_world.maker).items]
    new = ordering.place_order(there.ctx, either_world.visitor, content()).whole.order.number
    assert new == max(numbers) + 1


def test_a_backup_taken_while_people_work_belongs_together(world: World, empty_places, tmp_path):
    stop, placed = threading.Event(), []

    def work() -> None:
        while not stop.is_set():
            placed.append(world.upload(ordering.place_order(world.ctx, world.visitor, content()).whole))

    thread = threading.Thread(target=work)
    thread.start()
    backups = []
    while len(backups) < 5 and thread.is_alive():
        now = NOW + timedelta(seconds=len(backups))
        backup, copied = take_backup(place_in(world), tmp_path / "backups", now)
        assert not copied.missing and not copied.damaged
        backups.append(backup)
    stop.set()
    thread.join()
    for backup in (backups[0], backups[-1]):
        there = empty_places("sqlite")
        moved = restore(backup, there)
        assert not moved.faults and not moved.files.missing
        found = looking.list_orders(there.ctx, world.maker, page=PageAsk(100)).items
        for order in found:
            whole = looking.get_order(there.ctx, world.maker, order.id)
            assert len(whole.lines) == len(content().lines)
    assert len(backups[-1].files) >= len(backups[0].files)


def test_a_second_backup_adds_only_what_is_new_and_old_ones_go(world: World, tmp_path):
    folder = tmp_path / "backups"
    world.upload(ordering.place_order(world.ctx, world.visitor, content()).whole)
    _, first = take_backup(place_in(world), folder, NOW)
    _, second = take_backup(place_in(world), folder, NOW + timedelta(days=1))
    assert (first.fresh, second.fresh, second.files) == (first.files, 0, first.files)
    gone = next(iter(world.blobs.kept))
    order = looking.list_orders(world.ctx, world.maker).items[0]
    privacy_and_audit.erase_client(world.ctx, world.maker, order.id, order.revision)
    take_backup(place_in(world), folder, NOW + timedelta(days=2))
    assert drop_old(folder, keep=1) == 2
    assert [b.about["taken_at"] for b in backups_in(folder)] == [(NOW + timedelta(days=2)).isoformat()]
    assert open_backup(folder).store.size(gone) is None, "what was erased is in no backup any more"


def test_only_an_empty_place_takes_a_copy(world: World, empty_places, tmp_path):
    filled(world)
    take_backup(place_in(world), tmp_path / "backups", NOW)
    there = empty_places("sqlite")
    restore(open_backup(tmp_path / "backups"), there)
    before = rows_of(there).digest
    for again in (
        lambda: restore(open_backup(tmp_path / "backups"), there),
        lambda: move(place_in(world), there),
    ):
        with pytest.raises(UnfitError, match="empty"):
            again()
    assert rows_of(there).digest == before
    fresh = empty_places("sqlite")
    fresh.blobs.put(b"somebody's file")
    with pytest.raises(UnfitError, match="empty"):
        restore(open_backup(tmp_path / "backups"), fresh)


def test_a_damaged_or_foreign_backup_is_not_put_back(world: World, empty_places, tmp_path):
    filled(world)
    backup, _ = take_backup(place_in(world), tmp_path / "backups", NOW)
    with pytest.raises(UnfitError, match="no backup"):
        open_backup(tmp_path / "elsewhere")
    about = json.loads((backup.folder / "about.json").read_text())
    (backup.folder / "about.json").write_text(json.dumps(about | {"schema": "from-the-future"}))
    with pytest.raises(SchemaAheadError, match="from-the-future"):
        restore(open_backup(tmp_path / "backups"), empty_places("sqlite"))
    with gzip.open(backup.folder / ROWS, "at") as file:
        file.write('["one more"]\n')
    with pytest.raises(UnfitError, match="damaged"):
        open_backup(tmp_path / "backups")


def test_files_that_cannot_be_copied_are_told(world: World, tmp_path):
    filled(world)
    with world.database.reading() as connection:
        bad, absent = sorted(art.named_blobs(connection))[:2]
    world.blobs.kept[bad] = b"something else"
    del world.blobs.kept[absent]
    backup, copied = take_backup(place_in(world), tmp_path / "backups", NOW)
    assert (copied.damaged, copied.missing) == ([bad], [absent])
    assert backup.store.size(bad) is None


class AwayAtFirst(FolderBlobs):
    """A folder of which every call fails so many times, as a storage service that is started again does."""

    def __init__(self, root, fails: int):
        super().__init__(root)
        self.fails = fails

    def put(self, data):
        read = b"".join(data)  # and is gone from where it came
        if self.fails:
            self.fails -= 1
            raise BlobsAwayError("no answer")
        return super().put(read)

    def size(self, digest):
        if self.fails:
            self.fails -= 1
            raise BlobsAwayError("no answer")
        return super().size(digest)


def test_a_place_that_is_away_for_a_while_ends_no_copy(tmp_path, monkeypatch):
    monkeypatch.setattr(patience, "PAUSE_SECONDS", 0.0)
    source, target = FolderBlobs(tmp_path / "source"), AwayAtFirst(tmp_path / "target", 5)
    kept = [source.put(each) for each in (b"one", b"two")]
    copied = copy_files(kept, source, target)
    assert (copied.files, copied.fresh, copied.bytes) == (2, 2, 6)
    assert [target.get(each) for each in kept] == [b"one", b"two"]


def test_patience_ends_and_a_full_disk_is_said_at_once():
    passed, calls = [0.0], []

    def away(cause=None):
        calls.append(passed[0])
        raise BlobsAwayError("no answer") from cause

    with pytest.raises(BlobsAwayError):
        patiently(away, sleep=lambda seconds: passed.append(passed.pop() + seconds), clock=lambda: passed[0])
    assert calls[-1] == patience.PATIENCE_SECONDS
    calls.clear()
    with pytest.raises(BlobsAwayError):
        patiently(lambda: away(OSError(28, "No space left on device")), sleep=lambda _: None)
    assert len(calls) == 1


def test_a_place_without_a_workshop_or_of_another_version_is_not_backed_up(empty_places, world, tmp_path):
    with pytest.raises(UnfitError, match="nothing here"):
        take_backup(empty_places("sqlite"), tmp_path / "backups", NOW)
    with world.database.writing() as connection:
        connection.exec_driver_sql("UPDATE alembic_version SET version_num = '0001'")
    with pytest.raises(UnfitError, match="slatproof migrate"):
        take_backup(place_in(world), tmp_path / "backups", NOW)
    assert backups_in(tmp_path / "backups") == []
