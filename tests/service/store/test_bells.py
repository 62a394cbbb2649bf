"""What is committed rings for those who wait, in every process on PostgreSQL; what is rolled back does not."""

from __future__ import annotations

from collections.abc import Iterator

import pytest

from service.store.bells import tell
from service.store.engine import Database
from tests.waiting import until


@pytest.fixture(params=["sqlite", pytest.param("postgres", marks=pytest.mark.postgres)])
def url(request: pytest.FixtureRequest, tmp_path) -> str:
    if request.param == "sqlite":
        return f"sqlite:///{tmp_path / 'bells.db'}"
    return str(request.getfixturevalue("postgres_url"))


@pytest.fixture
def two(url: str) -> Iterator[tuple[Database, Database]]:
    """Two databases as two processes have them."""
    made = Database(url), Database(url)
    yield made
    for each in made:
        each.close()


def test_what_is_told_rings_once_it_is_committed_and_for_whom_it_is(two):
    here, _ = two
    rung: list[str] = []
    with (
        here.bells.heard_by("order:a", lambda: rung.append("a")),
        here.bells.heard_by("order:b", lambda: rung.append("b")),
    ):
        with pytest.raises(RuntimeError), here.writing() as connection:
            tell(connection, "order:a")
            raise RuntimeError
        with here.writing() as connection:
            tell(connection, "order:a")
            assert rung == [], "not before it is committed"
        assert rung == ["a"]
    with here.writing() as connection:
        tell(connection, "order:a")
    assert rung == ["a"], "nobody waits any more"


@pytest.mark.postgres
def test_other_processes_are_rung_too(postgres_url: str):
    here, there = Database(postgres_url), Database(postgres_url)
    rung: list[str] = []
    try:
        there.listen(alone=False)
        until(lambda: there.bells.reach_all)
        with there.bells.heard_by("work", lambda: rung.append("work")), here.writing() as connection:
            tell(connection, "work")
        with there.bells.heard_by("work", lambda: rung.append("work")):
            with here.writing() as connection:
                tell(connection, "work")
            until(lambda: rung != [])
    finally:
        here.close()
        there.close()
    assert not there.bells.reach_all


def test_on_one_file_only_a_process_alone_hears_everything(tmp_path):
    database = Database(f"sqlite:///{tmp_path / 'bells.db'}")
    database.listen(alone=False)
    assert not database.bells.reach_all
    database.listen(alone=True)
    assert database.bells.reach_all
    database.close()
