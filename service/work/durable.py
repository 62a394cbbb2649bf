"""Durable background work: asked for in the asker's own transaction, done at least once by whoever is free.

Every piece of work is one DBOS workflow, named by its key, so the same work is never asked for twice. What
failed is asked for again under the next attempt's name, later each time, and given up after some attempts. What
met files or a database that are away (``service.work.outages``) waits for them and has spent no attempt.
Stored workflows hold nothing that depends on this code but the kind of work and its payload, so one
application version serves all.
"""

from __future__ import annotations

import logging
import threading
import time
from collections.abc import Callable, Collection, Mapping, Sequence
from datetime import datetime
from typing import Any

import sqlalchemy as sa
from dbos import DBOS, DBOSClient, DBOSConfig, DBOSPortableJSONSerializer, WorkflowStatus
from sqlalchemy import Connection, event

from service import logs
from service.metering import WORK
from service.store import wall
from service.store.bells import Bells
from service.usecases.progress import TooOftenError
from service.work.lanes import FORMER, WORKFLOW, lanes, options_of
from service.work.outages import Away, away_of, wait_seconds
from service.work.pollers import Pollers
from service.work.processes import ComputeFaultError

Work = Callable[[str, Mapping[str, Any]], None]
"""Called with kind and payload; an error means: try again later."""
GiveUp = Callable[[str, Mapping[str, Any], str], None]
"""Called with kind, payload and what went wrong last, after the last attempt."""
Waiting = Callable[[str, Mapping[str, Any], Away], None]
"""Called with kind, payload and what is away, before work is put off until that is back."""

APPLICATION = "slatproof"
STORED_FORM = "1"
MOST_ATTEMPTS = 8
MOST_ATTEMPTS_AT_A_FAULT = 2
LONGEST_WAIT_SECONDS = 0.5 * 2**MOST_ATTEMPTS
"""Between two tries of one piece of work; each wait is twice the one before."""

AWAY = "away"
"""In a job's payload: how often in a row it met that a part is away."""
_PROBE_SECONDS = 2.0
"""Between two looks whether the database is back."""

_HASTEN_SECONDS = 20.0
"""Between two looks for tries that a wrong clock put off."""
_POLLING_SECONDS = 0.1
_SLOW_POLLING_SECONDS = 0.5  # an archive takes seconds; every look costs some processor
_FORGOTTEN_AT_ONCE = 5000
_CLOCK_LEEWAY_SECONDS = 60.0
"""Clocks of several machines may differ so much without anybody calling them wrong."""

log = logging.getLogger("slatproof.work")


def system_engine(database_url: str) -> sa.Engine:
    """The engine that DBOS keeps its own tables with, in the same database as the orders.

    It cannot be the store's engine: on SQLite DBOS needs the driver's own transaction handling.
    """
    if not database_url.startswith("sqlite"):
        return sa.create_engine(
            database_url, pool_size=6, max_overflow=4, pool_pre_ping=True, hide_parameters=True
        )
    from pysqlite3 import dbapi2

    engine = sa.create_engine(database_url, module=dbapi2, connect_args={"timeout": 30}, hide_parameters=True)
    event.listen(engine, "connect", _prepare_sqlite)
    return engine


def _prepare_sqlite(connection: Any, _record: object) -> None:
    connection.isolation_level = "IMMEDIATE"
    for pragma in ("busy_timeout=30000", "foreign_keys=ON", "journal_mode=WAL", "synchronous=FULL"):
        connection.execute(f"PRAGMA {pragma}")


def prepare_tables(engine: sa.Engine) -> None:
    """Make the tables that DBOS keeps its own state in, or bring them up to date."""
    from dbos._sys_db import SystemDatabase

    database = SystemDatabase.create(
        system_database_url=_url(engine),
        engine_kwargs={},
        engine=engine,
        schema="dbos",
        serializer=DBOSPortableJSONSerializer(),
        executor_id=None,
        use_listen_notify=False,
    )
    database.run_migrations()


class DurableQueue:
    """Where use cases ask for work; needs no worker in this process."""

    def __init__(self, engine: sa.Engine) -> None:
        serializer = DBOSPortableJSONSerializer()
        self._client = DBOSClient(
            system_database_engine=engine, serializer=serializer, application_name=APPLICATION, lazy=True
        )

    def enqueue(self, connection: Connection, kind: str, key: str, payload: Mapping[str, Any]) -> None:
        """See ``service.usecases.context.Queue``."""
        options = options_of(kind, key, payload)
        self._client.enqueue_in_transaction(connection, options, kind, key, dict(payload), 1)

    def again(self, kind: str, key: str, payload: Mapping[str, Any], attempt: int, seconds: float) -> None:
        """Ask for the next attempt of work that failed, ``seconds`` from now."""
        told = {name: value for name, value in payload.items() if name != AWAY}
        options = options_of(kind, f"{key}~{attempt}", told)
        options["delay_seconds"] = seconds
        self._client.enqueue(options, kind, key, told, attempt)

    def ask_anew(self, work: WorkflowStatus) -> None:
        """Ask for work in the lane where it would go today."""
        kind, key, payload, attempt = (work.input or {"args": ()})["args"]
        self._client.enqueue(options_of(kind, f"{work.workflow_id}^", payload), kind, key, payload, attempt)

    def once_back(self, kind: str, key: str, payload: Mapping[str, Any], attempt: int) -> None:
        """Ask for the same attempt again after a while: a part that it needs is away."""
        times = int(payload.get(AWAY, 0)) + 1
        told = {**payload, AWAY: times}
        options = options_of(kind, f"{key}~{attempt}+{times}", told)
        options["delay_seconds"] = wait_seconds(times)
        self._client.enqueue(options, kind, key, told, attempt)

    def forget_done(self, before: datetime) -> int:
        """Remove what ended before then from DBOS's own tables; how many. The jobs' rows stay."""
        ended = self._client.list_workflows(
            status=["SUCCESS", "ERROR", "CANCELLED"],
            completed_before=before.isoformat(),
            limit=_FORGOTTEN_AT_ONCE,
            load_input=False,
            load_output=False,
        )
        self._client.delete_workflows([work.workflow_id for work in ended])
        return len(ended)

    def close(self) -> None:
        """Let go of the database."""
        self._client.destroy()


class Worker:
    """The part of a process that does the work; at most one per process, as DBOS keeps state per process."""

    def __init__(
        self,
        engine: sa.Engine,
        queue: DurableQueue,
        work: Work,
        give_up: GiveUp,
        waiting: Waiting,
        *,
        bells: Bells,
        at_once: int,
    ) -> None:
        self._engine = engine
        self._queue = queue
        self._work = work
        self._give_up = give_up
        self._waiting = waiting
        self._ending = threading.Event()
        self._lanes = lanes(at_once, _POLLING_SECONDS, _SLOW_POLLING_SECONDS)
        self._bells = bells
        self._pollers = Pollers(self._lanes, bells)
        self._executor = ""
        self._in_hand: set[str] = set()
        self._dropped: frozenset[str] = frozenset()
        self._hastened = -_HASTEN_SECONDS

    def start(self, executor: str) -> None:
        """Take up whatever is asked for.

        Args:
            executor: this worker's name in the registry; what is under way under it is nobody else's.
        """
        self._executor = executor
        self._ending.clear()
        config: DBOSConfig = {
            "name": APPLICATION,
            "system_database_engine": self._engine,
            "system_database_url": _url(self._engine),
            "serializer": DBOSPortableJSONSerializer(),
            "application_version": STORED_FORM,
            "executor_id": executor,
            "use_listen_notify": False,
            "log_level": "WARNING",
        }
        DBOS(config=config)
        try:
            self._launch()
        except BaseException:
            self.stop(0)  # so that it can be tried again
            raise

    def _launch(self) -> None:
        self._register()
        DBOS.listen_queues([])  # the lanes have pollers of their own
        DBOS.launch()
        self._ask_anew(_former("ENQUEUED", "DELAYED"))
        self._pollers = Pollers(self._lanes, self._bells)
        self._pollers.start()

    def _ask_anew(self, work: Sequence[WorkflowStatus]) -> None:
        """Put work of lanes that are no more into those of today."""
        for each in work:
            self._queue.ask_anew(each)
        if work:
            DBOS.cancel_workflows([each.workflow_id for each in work])

    def take_over(self, alive: Callable[[], Collection[str]]) -> int:
        """Put work that is under way with nobody alive back in its queue; how many pieces.

        Of all that are alive, the one whose name comes first does it for all: two who did it at once could put back
        what a third has just taken up. It would then be done twice, and stored once.
        """
        under_way = DBOS.list_workflows(status="PENDING", load_input=False, load_output=False)
        # Who is alive is asked afterwards: whoever has taken work up by then is among them.
        names = alive() if under_way else ()
        orphans = [work for work in under_way if work.executor_id and work.executor_id not in names]
        if orphans and self._executor == min(names, default=""):
            self._put_back(orphans)
        else:
            orphans = []
        if orphans:
            self._pollers.ring()
        if time.monotonic() - self._hastened >= _HASTEN_SECONDS:
            self._hastened = time.monotonic()
            self._hasten_late()
        return len(orphans) + self._pick_up_dropped(under_way)

    def _put_back(self, work: Sequence[WorkflowStatus]) -> None:
        """Let work be taken up again from its queues."""
        former = [each for each in work if each.queue_name in FORMER]
        if former:
            self._ask_anew(_former("PENDING", ids=[each.workflow_id for each in former]))
        for lane in sorted({each.queue_name for each in work if each.queue_name} - FORMER):
            DBOS.resume_workflows(
                sorted(each.workflow_id for each in work if each.queue_name == lane), queue_name=lane
            )

    def _hasten_late(self) -> None:
        """Tries put off farther than any is put off by a clock that was wrong at the time: they are due now."""
        farthest = (time.time() + LONGEST_WAIT_SECONDS + _CLOCK_LEEWAY_SECONDS) * 1000
        for work in DBOS.list_workflows(status="DELAYED", load_input=False, load_output=False):
            if (work.delay_until_epoch_ms or 0) > farthest:
                DBOS.set_workflow_delay(work.workflow_id, delay_seconds=0)
                self._pollers.ring()

    def _pick_up_dropped(self, under_way: Sequence[WorkflowStatus]) -> int:
        """Work under this worker's own name that no thread of it has in hand goes back to its queue.

        A thread that could not store what it did, because the database was away, ends without a word to
        anybody. Two looks in a row must find it so: work is in nobody's hand for a moment as it begins and ends.
        """
        idle = {
            work.workflow_id: work
            for work in under_way
            if work.executor_id == self._executor and work.workflow_id not in self._in_hand
        }
        dropped, self._dropped = self._dropped.intersection(idle), frozenset(idle)
        self._put_back([idle[name] for name in dropped])
        return len(dropped)

    def stop(self, seconds: int = 10) -> None:
        """Take no more, wait up to so long for what is under way, and leave the rest for others."""
        self._ending.set()
        self._pollers.stop(0)
        DBOS.destroy(destroy_registry=True, workflow_completion_timeout_sec=seconds)

    def _register(self) -> None:
        @DBOS.step(name="attempt")
        def attempt_it(kind: str, payload: dict[str, Any]) -> dict[str, Any] | None:
            return self._attempt(kind, payload)

        @DBOS.step(name="settle")
        def settle(
            kind: str, key: str, payload: dict[str, Any], attempt: int, trouble: dict[str, Any]
        ) -> None:
            self._until_there(lambda: self._settle(kind, key, payload, attempt, trouble))

        # No limit of DBOS's own: it would end the work without telling anybody. Beginnings are counted in the
        # job's row, and too many of them come back as TooOften.
        @DBOS.workflow(name=WORKFLOW, max_recovery_attempts=None)
        def run(kind: str, key: str, payload: dict[str, Any], attempt: int) -> None:
            name = DBOS.workflow_id or key
            self._in_hand.add(name)
            try:
                trouble = attempt_it(kind, payload)
                if trouble:
                    settle(kind, key, payload, attempt, trouble)
            finally:
                self._in_hand.discard(name)
                self._pollers.ring()  # a place is free

    def _attempt(self, kind: str, payload: dict[str, Any]) -> dict[str, Any] | None:
        """Try once; what went wrong and how many attempts that is worth, ``None`` when nothing did."""
        logs.begin(work=kind, **({"job": payload["job"]} if "job" in payload else {}))
        begun = time.perf_counter()
        trouble = self._tried(kind, payload)
        WORK.labels(kind, "failed" if trouble else "done").observe(time.perf_counter() - begun)
        return trouble

    def _tried(self, kind: str, payload: dict[str, Any]) -> dict[str, Any] | None:
        try:
            with wall.serving(payload.get("workshop", "")):
                self._work(kind, payload)
        except ComputeFaultError as error:
            log.error("%s cannot be worked out", kind, exc_info=error)
            return {"words": str(error), "attempts": MOST_ATTEMPTS_AT_A_FAULT}
        except TooOftenError as error:
            log.error("%s is given up: %s", kind, error)
            return {"words": str(error), "attempts": 0}
        except Exception as error:
            if away := away_of(error):
                return self._away(kind, away, error)
            log.warning("%s failed", kind, exc_info=error)
            return {"words": f"{type(error).__name__}: {error}", "attempts": MOST_ATTEMPTS}
        return None

    def _away(self, kind: str, away: Away, error: Exception) -> dict[str, Any]:
        log.warning("%s waits: the %s are away: %s", kind, away.value, type(error).__name__)
        if away is Away.DATABASE:
            # The engine would wait for it as well, but for up to a minute and a half between two looks.
            self._until_there(self._reach_database)
        return {"words": f"{type(error).__name__}: {error}", "attempts": MOST_ATTEMPTS, "away": away.value}

    def _reach_database(self) -> None:
        with self._engine.connect() as connection:
            connection.exec_driver_sql("SELECT 1")

    def _until_there(self, act: Callable[[], None]) -> None:
        """Do what needs the database, as often as it takes until that is there; not where this worker ends."""
        while True:
            try:
                return act()
            except Exception as error:
                if away_of(error) is None or self._ending.wait(_PROBE_SECONDS):
                    raise

    def _settle(
        self, kind: str, key: str, payload: dict[str, Any], attempt: int, trouble: dict[str, Any]
    ) -> None:
        if "away" in trouble:
            self._waiting(kind, payload, Away(trouble["away"]))
            self._queue.once_back(kind, key, payload, attempt)
        elif attempt < trouble["attempts"]:
            self._queue.again(kind, key, payload, attempt + 1, seconds=0.5 * 2**attempt)
        else:
            self._give_up(kind, payload, trouble["words"])


def _former(*states: str, ids: list[str] | None = None) -> list[WorkflowStatus]:
    """Work in lanes that are no more."""
    return DBOS.list_workflows(
        workflow_ids=ids, status=list(states), queue_name=sorted(FORMER), load_output=False
    )


def _url(engine: sa.Engine) -> str:
    return engine.url.render_as_string(hide_password=False)
