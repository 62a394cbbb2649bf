"""The roll of workers, with a clock that only this test moves."""

from __future__ import annotations

from datetime import UTC, datetime

import pytest

from service.store import upkeep
from service.store.engine import Database
from service.store.folder import FolderLock, FolderTakenError
from service.store.migrating import upgrade
from service.work.worker_registry import Watch, WorkerRegistry

SILENCE = 15.0


class Hands:
    """A monotonic clock, seconds."""

    def __init__(self) -> None:
        self.at = 1000.0

    def __call__(self) -> float:
        return self.at


class Wall:
    """A clock on the wall that may jump."""

    def __init__(self) -> None:
        self.at = datetime(2026, 5, 4, 9, 30, tzinfo=UTC)

    def now(self) -> datetime:
        return self.at


@pytest.fixture
def store(tmp_path):
    made = Database(f"sqlite:///{tmp_path}/store.db")
    upgrade(made)
    yield made
    made.close()


@pytest.fixture
def hands():
    return Hands()


def look(watch: Watch, hands: Hands, times: int, counters: dict[str, list[int]]) -> list[str]:
    found: list[str] = []
    for turn in range(times):
        hands.at += 3
        found += watch.silent({name: counts[min(turn, len(counts) - 1)] for name, counts in counters.items()})
    return found


def test_a_counter_that_stands_still_for_long_enough_is_silence(hands):
    watch = Watch(SILENCE, hands)
    alive = list(range(1, 20))
    assert look(watch, hands, 5, {"still": [7], "alive": alive}) == []
    assert look(watch, hands, 1, {"still": [7], "alive": [99]}) == ["still"]


def test_who_looks_after_a_pause_of_its_own_starts_counting_again(hands):
    watch = Watch(SILENCE, hands)
    look(watch, hands, 3, {"other": [7]})
    hands.at += 600  # this process was stopped, or the database was away
    assert look(watch, hands, 5, {"other": [7]}) == []
    assert look(watch, hands, 1, {"other": [7]}) == ["other"]


def roll_of(
    store: Database, wall: Wall, *, alone: bool = False, watch: Watch | None = None
) -> WorkerRegistry:
    return WorkerRegistry(store, wall, lambda _alive: 0, alone=alone, struck=lambda: None, watch=watch)


def on_it(store: Database) -> set[str]:
    with store.reading() as connection:
        return set(upkeep.beats_of_workers(connection))


def test_a_clock_that_jumps_makes_nobody_dead(store):
    wall = Wall()
    one, two = roll_of(store, wall), roll_of(store, wall)
    one.join(), two.join()
    for year in (2036, 2016, 2026):
        wall.at = wall.at.replace(year=year)
        assert one.look()
    assert on_it(store) == {one.id, two.id}


def test_a_worker_learns_that_it_was_struck(store, hands):
    wall = Wall()
    one, two = roll_of(store, wall), roll_of(store, wall, watch=Watch(SILENCE, hands))
    one.join(), two.join()
    for _ in range(6):
        assert on_it(store) == {one.id, two.id}
        hands.at += 3
        assert two.look()
    assert not one.look()
    assert on_it(store) == {two.id}


def test_a_worker_that_is_alone_needs_to_wait_for_nobody(store):
    left = roll_of(store, Wall())
    left.join()
    only = roll_of(store, Wall(), alone=True)
    only.join()
    assert on_it(store) == {only.id}
    only.leave()
    assert on_it(store) == set()


def test_a_beat_between_the_look_and_the_strike_saves_a_worker(store):
    roll = roll_of(store, Wall())
    roll.join()
    with store.writing() as connection:
        upkeep.strike_worker(connection, roll.id, beats=upkeep.beats_of_workers(connection)[roll.id] - 1)
    assert on_it(store) == {roll.id}


@pytest.mark.parametrize(("first", "second"), [(True, True), (True, False), (False, True)])
def test_a_folder_that_somebody_wants_alone_is_not_shared(tmp_path, first, second):
    one, two = FolderLock(tmp_path), FolderLock(tmp_path)
    one.take(alone=first)
    with pytest.raises(FolderTakenError, match="Stop that one first, or give this one another folder"):
        two.take(alone=second)
    one.release()
    two.take(alone=second)
    two.release()


def test_several_that_share_a_folder_may(tmp_path):
    one, two = FolderLock(tmp_path), FolderLock(tmp_path)
    one.take(alone=False)
    two.take(alone=False)
    one.release(), two.release()
