from datetime import timedelta

from sqlalchemy import func, select

from service.access.rate_limit import Limit, count_attempt, forgive
from service.store.access_tables import attempts

from .conftest import NOW

THREE = Limit("try", 3, timedelta(minutes=15))


def test_the_fourth_try_waits_until_the_first_is_old_enough(connection):
    for minute in range(3):
        assert count_attempt(connection, THREE, "a", NOW + timedelta(minutes=minute)) is None
    assert count_attempt(connection, THREE, "a", NOW + timedelta(minutes=5)) == timedelta(minutes=10)
    assert count_attempt(connection, THREE, "a", NOW + timedelta(minutes=15, seconds=1)) is None
    assert count_attempt(connection, THREE, "a", NOW + timedelta(minutes=15, seconds=2)) is not None


def test_subjects_and_kinds_are_counted_apart(connection):
    for _ in range(3):
        count_attempt(connection, THREE, "a", NOW)
    assert count_attempt(connection, THREE, "b", NOW) is None
    assert count_attempt(connection, Limit("other", 3, timedelta(minutes=15)), "a", NOW) is None


def test_a_refused_try_does_not_lengthen_the_wait(connection):
    for _ in range(3):
        count_attempt(connection, THREE, "a", NOW)
    for second in range(100):
        count_attempt(connection, THREE, "a", NOW + timedelta(seconds=second))
    assert count_attempt(connection, THREE, "a", NOW + timedelta(minutes=15)) is None


def test_forgiving_starts_afresh(connection):
    for _ in range(3):
        count_attempt(connection, THREE, "a", NOW)
    forgive(connection, THREE, "a")
    assert count_attempt(connection, THREE, "a", NOW) is None


def test_it_outlives_the_process(engine):
    with engine.begin() as first:
        for _ in range(3):
            count_attempt(first, THREE, "a", NOW)
    engine.dispose()
    with engine.begin() as second:
        assert count_attempt(second, THREE, "a", NOW) is not None


def test_old_attempts_are_cleared_away(connection):
    for hour in range(50):
        count_attempt(connection, THREE, str(hour), NOW + timedelta(hours=hour))
    assert connection.scalar(select(func.count()).select_from(attempts)) <= 8
