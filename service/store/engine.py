"""The database: one engine for SQLite in a file and for PostgreSQL, and its transactions."""

from __future__ import annotations

import json
import select
import threading
import time
from collections import deque
from collections.abc import Iterator
from contextlib import contextmanager
from functools import partial
from typing import Any

import sqlalchemy as sa
from pydantic_core import from_json
from sqlalchemy import Connection, Engine, event
from sqlalchemy.exc import DBAPIError, OperationalError

from service.orders.errors import TooManyError
from service.store import wall
from service.store.at_last import AT_LAST, Kept, write_kept
from service.store.bells import CHANNEL, TOPICS, Bells, Listener
from service.store.sharing import ANSWERS, WRITES
from service.store.vault import OPEN, OPTION, Vault

_NOTIFY = sa.text("SELECT pg_notify(:channel, topic) FROM unnest(CAST(:topics AS text[])) AS topic")
BUSY_SECONDS = 20.0
"""How long a writer waits for another before it is told to come back."""

_COME_BACK_SECONDS = 2.0
_SQLITE_PRAGMAS = (
    "journal_mode=WAL",
    "synchronous=FULL",  # NORMAL may lose the last commits at a power cut
    f"busy_timeout={int(BUSY_SECONDS * 1000)}",
    "foreign_keys=ON",
    "secure_delete=ON",  # what a client had erased is not left in free pages
    "cache_size=-16000",  # KiB
)
_READS: dict[str, Any] = {"isolation_level": "REPEATABLE READ", "postgresql_readonly": True}
_USED = "slatproof_used"
_READERS_KEPT = 8
_ASLEEP_SECONDS = 30.0
"""A connection that nobody used for so long is asked whether it still reaches the server."""
# PostgreSQL: serialization failure, deadlock, lock not available
_TRY_AGAIN_STATES = frozenset({"40001", "40P01", "55P03"})


class Database:
    """Transactions on one database; the ``UnitOfWork`` of the use cases."""

    def __init__(self, url: str, vault: Vault = OPEN) -> None:
        """Open it; ``vault`` seals the keys kept there."""
        self._vault = vault
        self.engine = _sqlite_engine(url) if url.startswith("sqlite") else _postgres_engine(url)
        self._writer = threading.Lock() if self.engine.dialect.name == "sqlite" else None
        self.bells = Bells()
        self._listener: Listener | None = None
        self._readers: deque[Connection] = deque()

    @contextmanager
    def reading(self) -> Iterator[Connection]:
        """One consistent view of the store, which cannot write by accident.

        Raises:
            TooManyError: no connection became free in time.
        """
        if self._writer is not None:
            with self._reader() as connection:
                wall.begin(connection)
                yield connection
            return
        with self._connected() as connection:
            opened = connection.execution_options(**_READS)
            wall.begin(opened)
            yield opened
            # rolled back, the driver would have every prepared statement prepared anew
            opened.commit()

    def is_at_hand(self) -> bool:
        """Whether a view can be had at once: the database is in a file, and a connection to it is open and free."""
        return bool(self._readers)

    @contextmanager
    def _reader(self) -> Iterator[Connection]:
        """On SQLite: a connection that stays open between views, for opening it costs more than what most of them read.

        One that met an error, or was told anything but what every reader is, is not used again.
        """
        try:
            connection = self._readers.pop()
        except IndexError:
            connection = self._checked_out().execution_options(**{OPTION: self._vault})
        plain, good = connection.get_execution_options(), False
        connection.info.pop(ANSWERS, None)
        try:
            yield connection
            connection.rollback()
            good = connection.get_execution_options() is plain and len(self._readers) < _READERS_KEPT
        finally:
            if good:
                self._readers.append(connection)
            else:
                connection.close()

    @contextmanager
    def writing(self) -> Iterator[Connection]:
        """A transaction that may write: committed when the block ends, rolled back when an error leaves it.

        Raises:
            TooManyError: another writer kept the database for too long, no connection became free in time, or the
                database asks to try again.
        """
        topics: set[str] = set()
        with self._turn(), self._connected() as connection, self._transaction(connection, topics):
            yield connection
        for topic in topics:
            self.bells.ring(topic)

    @contextmanager
    def altering(self) -> Iterator[Connection]:
        """As :meth:`writing`, for a migration that makes a table anew: SQLite would take what refers to a table's rows
        for orphans as the old one goes, so it is asked at the end instead
        (https://www.sqlite.org/lang_altertable.html#otheralter).

        Raises:
            TooManyError: as :meth:`writing`.
            sqlalchemy.exc.IntegrityError: something refers to a row that is not there.
        """
        if self._writer is None:
            with self.writing() as connection:
                yield connection
            return
        with self._turn(), self._connected() as connection:
            driver: Any = connection.connection.driver_connection
            driver.execute("PRAGMA foreign_keys=OFF")  # within a transaction it would do nothing
            try:
                with self._transaction(connection, set()):
                    yield connection
                    _need_whole_references(connection)
            finally:
                if not connection.invalidated:  # as Ctrl-C leaves it: it is closed, and never used again
                    driver.execute("PRAGMA foreign_keys=ON")

    @contextmanager
    def _transaction(self, connection: Connection, topics: set[str]) -> Iterator[None]:
        kept: Kept = {}
        try:
            with connection.execution_options(**{WRITES: True, TOPICS: topics, AT_LAST: kept}).begin():
                wall.begin(connection)
                yield
                write_kept(connection, kept)
                self._notify(connection, topics)
        except DBAPIError as error:
            if _asks_to_try_again(error):
                raise TooManyError(_COME_BACK_SECONDS) from error
            raise

    def listen(self, *, alone: bool) -> None:
        """Hear what other processes tell; ``alone``: there are none."""
        if self._writer is not None:
            self.bells.reach_all = alone
            return
        self._listener = Listener(self.engine, self.bells)
        self._listener.start()

    def _notify(self, connection: Connection, topics: set[str]) -> None:
        if self._writer is None and topics:
            connection.execute(_NOTIFY, {"channel": CHANNEL, "topics": sorted(topics)})

    @contextmanager
    def _connected(self) -> Iterator[Connection]:
        with self._checked_out() as connection:
            yield connection.execution_options(**{OPTION: self._vault})

    def _checked_out(self) -> Connection:
        try:
            return self.engine.connect()
        except sa.exc.TimeoutError as error:
            raise TooManyError(_COME_BACK_SECONDS) from error

    def forget_old_rows(self) -> None:
        """On SQLite, put what was written into the database's file and empty the write-ahead log, which still holds
        rows as they were (https://www.sqlite.org/pragma.html#pragma_wal_checkpoint). Who reads at this moment
        keeps it for as long; housekeeping asks again. PostgreSQL cleans up in its own time.
        """
        if self._writer is None:
            return
        with (
            self._turn(),
            self.engine.connect().execution_options(isolation_level="AUTOCOMMIT") as connection,
        ):
            connection.exec_driver_sql("PRAGMA wal_checkpoint(TRUNCATE)")

    def close(self) -> None:
        """Let go of every connection."""
        if self._listener is not None:
            self._listener.stop()
        while self._readers:
            self._readers.pop().close()
        self.engine.dispose()

    @contextmanager
    def _turn(self) -> Iterator[None]:
        """SQLite has one writer at a time: threads of this process queue here instead of polling."""
        if self._writer is None:
            yield
            return
        if not self._writer.acquire(timeout=BUSY_SECONDS):
            raise TooManyError(_COME_BACK_SECONDS)
        try:
            yield
        finally:
            self._writer.release()


def _need_whole_references(connection: Connection) -> None:
    broken = connection.exec_driver_sql("PRAGMA foreign_key_check").first()
    if broken is not None:
        words = f"a row of {broken[0]} refers to one of {broken[2]} that is not there"
        raise sa.exc.IntegrityError(words, None, ValueError(words))


def _asks_to_try_again(error: DBAPIError) -> bool:
    if isinstance(error, OperationalError) and "database is locked" in str(error.orig):
        return True
    return getattr(error.orig, "sqlstate", None) in _TRY_AGAIN_STATES


def _compact(value: Any) -> str:
    return json.dumps(value, ensure_ascii=False, allow_nan=False, separators=(",", ":"))


def _postgres_engine(url: str) -> Engine:
    engine = sa.create_engine(
        url,
        pool_size=10,
        max_overflow=20,
        pool_timeout=BUSY_SECONDS,
        pool_use_lifo=True,  # each connection has prepared statements of its own
        json_serializer=_compact,
        json_deserializer=from_json,
        hide_parameters=True,  # errors are logged: nobody's name belongs there
    )
    event.listen(engine, "checkin", _note_used)
    event.listen(engine, "checkout", partial(_need_open_line, engine.dialect))
    return engine


def _note_used(_connection: Any, record: Any) -> None:
    record.info[_USED] = time.monotonic()


def _need_open_line(dialect: sa.Dialect, connection: Any, record: Any, _proxy: object) -> None:
    """Raises DisconnectionError, upon which another connection is taken, where this one is over.

    Nothing is due on a line that nobody uses: what can be read there is the server's farewell, and no question is
    needed to see it.
    """
    line = select.poll()
    line.register(connection.pgconn.socket, select.POLLIN)
    asleep = time.monotonic() - record.info.get(_USED, time.monotonic()) > _ASLEEP_SECONDS
    if line.poll(0) or (asleep and not _answers(dialect, connection)):
        raise sa.exc.DisconnectionError


def _answers(dialect: sa.Dialect, connection: Any) -> bool:
    try:
        return dialect.do_ping(connection)
    except dialect.loaded_dbapi.Error:
        return False


def _sqlite_engine(url: str) -> Engine:
    from pysqlite3 import dbapi2  # Debian's SQLite has the WAL-reset fault, the package's has not

    engine = sa.create_engine(
        url,
        module=dbapi2,
        pool_size=10,
        max_overflow=30,
        pool_timeout=BUSY_SECONDS,
        pool_use_lifo=True,  # each connection has a cache of its own: few warm ones rather than all by turns
        json_serializer=_compact,
        json_deserializer=from_json,
        hide_parameters=True,
    )
    event.listen(engine, "connect", _prepare_sqlite)
    event.listen(engine, "begin", _begin_sqlite)
    return engine


def _prepare_sqlite(connection: Any, _record: object) -> None:
    connection.isolation_level = None  # the driver must not begin transactions of its own
    for pragma in _SQLITE_PRAGMAS:
        connection.execute(f"PRAGMA {pragma}")


def _begin_sqlite(connection: Connection) -> None:
    writes = connection.get_execution_options().get(WRITES, False)
    if writes:
        connection.exec_driver_sql("BEGIN IMMEDIATE")
        return
    driver: Any = connection.connection.driver_connection
    driver.execute("BEGIN")  # takes no lock yet, so nothing can be refused
