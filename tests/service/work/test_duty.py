"""How background work begins and ends: in order, waiting for a database that is away, undone last first."""

from __future__ import annotations

import subprocess
import sys
import threading
import time
from collections.abc import Callable
from pathlib import Path

import pytest
from sqlalchemy.exc import InterfaceError, OperationalError

from service.work import supervisor
from service.work.supervisor import Supervisor

ROOT = Path(__file__).parents[3]
EVERY_STEP = ["join", "start worker-1", "beat", "mail"]
EVERY_END = ["no mail", "rest", "stop", "leave"]


class Parts:
    """Worker, roll and postman in one, noting what is asked of them; some of it fails so many times."""

    id = "worker-1"

    def __init__(self, **failing: tuple[int, type[Exception]]) -> None:
        self.said: list[str] = []
        self.tries = 0
        self._failing = {what.replace("_", " "): left for what, left in failing.items()}
        self.join, self.leave = self._does("join"), self._does("leave")
        self.rest = self._does("rest")

    def _does(self, what: str) -> Callable[..., None]:
        def does(*given: str) -> None:
            self.tries += 1
            left, error = self._failing.get(what, (0, Exception))
            if left:
                self._failing[what] = (left - 1, error)
                if error is RuntimeError:
                    raise RuntimeError(what)
                raise error("INSERT", {}, Exception("database or disk is full"))
            self.said.append(" ".join((what, *given)))

        return does

    def as_duty(self, ending: threading.Event | None = None) -> Supervisor:
        worker, roll, postman = _Part(self, "start", "stop"), self, _Part(self, "mail", "no mail")
        self.start = self._does("beat")
        return Supervisor(worker, roll, (postman,), ending or threading.Event())


class _Part:
    def __init__(self, parts: Parts, begin: str, end: str) -> None:
        self.start, self.stop = parts._does(begin), parts._does(end)


@pytest.fixture(autouse=True)
def quick(monkeypatch):
    monkeypatch.setattr(supervisor, "RETRY_SECONDS", 0.01)


def test_all_begins_in_order_and_ends_the_other_way_round():
    parts = Parts()
    made = parts.as_duty()
    made.start()
    assert parts.said == EVERY_STEP
    made.stop()
    assert parts.said == [*EVERY_STEP, *EVERY_END]
    made.stop()
    assert len(parts.said) == len(EVERY_STEP) + len(EVERY_END)


@pytest.mark.parametrize("error", [OperationalError, InterfaceError])
@pytest.mark.parametrize("step", ["join", "start", "beat", "mail"])
def test_a_database_that_is_away_is_waited_for_at_any_step(step, error, caplog):
    parts = Parts(**{step: (2, error)})
    parts.as_duty().start()
    assert parts.said == EVERY_STEP
    assert parts.tries == len(EVERY_STEP) + 2
    assert caplog.text.count("trying again") == 2
    assert "disk is full" in caplog.text


@pytest.mark.parametrize("step", [0, 1, 2, 3])
def test_only_what_was_begun_is_ended(step):
    name = ["join", "start", "beat", "mail"][step]
    parts = Parts(**{name: (1, RuntimeError)})
    made = parts.as_duty()
    with pytest.raises(RuntimeError):  # not the database: nobody waits for that
        made.start()
    made.stop()
    assert parts.said == [*EVERY_STEP[:step], *EVERY_END[4 - step :]]


def test_stopping_while_it_waits_ends_the_waiting_at_once(monkeypatch):
    monkeypatch.setattr(supervisor, "RETRY_SECONDS", 3600.0)
    parts, ending = Parts(join=(10**6, OperationalError)), threading.Event()
    made = parts.as_duty(ending)
    starting = threading.Thread(target=made.start)
    starting.start()
    while not parts.tries:
        time.sleep(0.001)
    ending.set()
    starting.join(timeout=60)
    assert not starting.is_alive()
    made.stop()
    assert (parts.said, parts.tries) == ([], 1)


def test_nothing_is_begun_after_the_end():
    ending = threading.Event()
    ending.set()
    parts = Parts()
    parts.as_duty(ending).start()
    assert parts.tries == 0


def test_a_database_that_is_away_at_the_end_keeps_nothing_open(caplog):
    parts = Parts(rest=(1, InterfaceError), leave=(1, OperationalError))
    made = parts.as_duty()
    made.start()
    made.stop()
    assert parts.said == [*EVERY_STEP, "no mail", "stop"]
    assert caplog.text.count("without a word") == 2


_TWICE = """
import sys, threading
from sqlalchemy import event
from sqlalchemy.exc import OperationalError
from service.store.bells import Bells
from service.work.durable import DurableQueue, Worker, prepare_tables, system_engine
engine = system_engine("sqlite:///" + sys.argv[1])
prepare_tables(engine)
away, done = [True], threading.Event()
@event.listens_for(engine, "before_cursor_execute")
def refuse(connection, cursor, statement, parameters, context, many):
    if away[0]:
        raise OperationalError(statement, {}, Exception("database or disk is full"))
queue = DurableQueue(engine)
ends = [lambda kind, payload: done.set(), lambda *_: None, lambda *_: None]
worker = Worker(engine, queue, *ends, bells=Bells(), at_once=1)
refusals = 0
for turn in range(3):
    away[0] = turn < 2
    try:
        worker.start(f"worker-{turn}")
    except OperationalError:
        refusals += 1
with engine.begin() as connection:
    queue.enqueue(connection, "reading", "key-1", {})
print(refusals, done.wait(30))
worker.stop(0)
queue.close()
"""


def test_a_worker_that_could_not_be_launched_can_be_started_again(tmp_path):
    """The engine keeps its state per process, so this has a process of its own."""
    command = [sys.executable, "-c", _TWICE, str(tmp_path / "work.db")]
    ran = subprocess.run(command, cwd=ROOT, capture_output=True, text=True, timeout=60, check=False)
    assert (ran.returncode, ran.stdout.split()) == (0, ["2", "True"]), ran.stderr
