"""How often something may be tried: counted in the database, so that a restart forgives nothing."""

from __future__ import annotations

import logging
import math
from contextvars import ContextVar
from dataclasses import dataclass
from datetime import datetime, timedelta
from threading import Lock

from cachetools import LRUCache
from sqlalchemy import Connection, delete, func, insert, select

from service.access.secrets import digest
from service.orders.errors import TooManyError
from service.store.access_tables import attempts

log = logging.getLogger("slatproof.access")


@dataclass(frozen=True)
class Limit:
    """At most ``times`` attempts within ``window`` for one key; ``what`` names the kind in the key.

    Attributes:
        shown: its name for whoever asks; empty where how often somebody tried is nobody's business.
        bytes_each: where bytes are counted, how many of them are one.
    """

    what: str
    times: int
    window: timedelta
    shown: str = ""
    bytes_each: int = 0


@dataclass(frozen=True)
class Standing:
    """How much of a limit is left, and in how many seconds there is more."""

    limit: Limit
    left: int
    seconds: int


_counted: ContextVar[list[Standing] | None] = ContextVar("counted", default=None)


def watch() -> list[Standing]:
    """What is counted from here on in this request, to be told with its answer."""
    counted: list[Standing] = []
    _counted.set(counted)
    return counted


QUARTER = timedelta(minutes=15)
# One visitor at one account; one visitor at all accounts; everybody at one account. The last slows a guesser
# who is spread over many addresses to 200 guesses a day; it is not asked of an address that was signed in
# to the account before, so that the guesser cannot lock the owner out.
SIGN_IN_PAIR = Limit("sign-in pair", 5, QUARTER)
SIGN_IN_ADDRESS = Limit("sign-in address", 30, QUARTER)
SIGN_IN_ACCOUNT = Limit("sign-in account", 50, timedelta(hours=6))
ONCE_MORE = Limit("once more", 10, QUARTER)  # password or code, asked of somebody who is signed in
NEW_LINK_ORDER = Limit("new link order", 3, timedelta(hours=1))
NEW_LINK_ADDRESS = Limit("new link address", 10, timedelta(hours=1))
LOST_LINK = Limit("lost link of address", 3, timedelta(hours=1))
WRITTEN = Limit("messages of order", 30, timedelta(hours=1), "messages")
NEW_PASSWORD_ACCOUNT = Limit("new password account", 3, timedelta(hours=1))
PATIENT_WORK = Limit("patient work of order", 12, timedelta(hours=6))
"""Long computations for one order: what a drawing may take besides the first seconds of each reading."""
PATIENT_WORK_NETWORK = Limit("patient work of network", 36, timedelta(hours=6))
"""The same for all orders that somebody of one network sends files to: about an hour of a processor."""
VERSIONS = Limit("versions of order", 24, timedelta(hours=1), "versions")
"""How often versions that carve are worked out for one order."""
VERSIONS_NETWORK = Limit("versions of network", 120, timedelta(hours=1), "versions-of-network")
"""The same for all orders that somebody of one network works on: half an hour of a processor in an hour."""
UPLOADED = Limit("megabytes from network", 600, timedelta(hours=1), "uploads", bytes_each=1_000_000)
UPLOADED_BY_TOKEN = Limit(
    "megabytes of token", 6000, timedelta(hours=1), "uploads-of-token", bytes_each=1_000_000
)
"""As many as ten networks may send: a shop's site hands on what all its visitors give it."""
MINUTE = timedelta(minutes=1)
KNOWN_BROWSER = "known browser"
KNOWN_FOR = timedelta(days=90)
_LONGEST = timedelta(hours=6)
_MOST_TOKENS = 10_000


def _key(limit: Limit, subject: str) -> str:
    return digest(f"{limit.what}\n{subject}")


def count_attempt(
    connection: Connection, limit: Limit, subject: str, now: datetime, weight: int = 1
) -> timedelta | None:
    """Count one attempt, or one that weighs as several, unless the limit is already reached: then say how long to wait.

    Call it inside a write transaction: counting before trying is what stops a burst of parallel attempts.
    """
    key = _key(limit, subject)
    if connection.dialect.name == "postgresql":  # SQLite's write transactions already follow one another
        connection.execute(select(func.pg_advisory_xact_lock(int(key[:15], 16))))
    connection.execute(delete(attempts).where(attempts.c.at < now - _LONGEST))
    since = now - limit.window
    seen = select(func.count(), func.min(attempts.c.at)).where(attempts.c.key == key, attempts.c.at > since)
    count, oldest = connection.execute(seen).one()
    wait: timedelta = max((oldest or now) + limit.window - now, timedelta(seconds=1))
    _tell(limit, max(limit.times - count - weight, 0), wait)
    if count >= limit.times:
        return wait
    connection.execute(insert(attempts), [{"key": key, "at": now}] * weight)
    return None


def _tell(limit: Limit, left: int, wait: timedelta) -> None:
    counted = _counted.get()
    if counted is not None and limit.shown:
        counted.append(Standing(limit, left, math.ceil(wait.total_seconds())))


def count_or_refuse(
    connection: Connection, limit: Limit, subject: str, now: datetime, weight: int = 1
) -> None:
    """As :func:`count_attempt`; TooManyError where the limit is reached."""
    wait = count_attempt(connection, limit, subject, now, weight)
    if wait is not None:
        log.warning("too many tries: %s", limit.what)
        raise TooManyError(wait.total_seconds())


class RequestBudget:
    """How many requests each token may make within a minute; counted by each process for itself, from the first on.

    Attributes:
        times: at most; 0: any number.
    """

    def __init__(self, times: int) -> None:
        self.times = times
        self._counted: LRUCache[str, tuple[datetime, int]] = LRUCache(_MOST_TOKENS)
        self._lock = Lock()

    def take(self, token_id: str, now: datetime) -> None:
        """Count one. TooManyError where a minute's are spent."""
        if not self.times:
            return
        with self._lock:
            began, count = self._counted.get(token_id, (now, 0))
            if now - began >= MINUTE:
                began, count = now, 0
            self._counted[token_id] = began, count + 1
        wait = max(began + MINUTE - now, timedelta(seconds=1))
        _tell(
            Limit("requests of token", self.times, MINUTE, "requests"), max(self.times - count - 1, 0), wait
        )
        if count >= self.times:
            raise TooManyError(wait.total_seconds())


def forgive(connection: Connection, limit: Limit, subject: str) -> None:
    """Forget the attempts of one key: after a right password the wrong ones no longer count."""
    connection.execute(delete(attempts).where(attempts.c.key == _key(limit, subject)))


def remember_browser(connection: Connection, browser: str, account_id: str, now: datetime) -> None:
    """An account was signed in to with this browser: what strangers do there does not count against it."""
    key = digest(f"{KNOWN_BROWSER}\n{browser} {account_id}")
    connection.execute(delete(attempts).where(attempts.c.key == key))
    connection.execute(insert(attempts).values(key=key, at=now + KNOWN_FOR))


def is_known_browser(connection: Connection, browser: str, account_id: str, now: datetime) -> bool:
    """Whether the account was signed in to with this browser lately."""
    key = digest(f"{KNOWN_BROWSER}\n{browser} {account_id}")
    found = select(attempts.c.at).where(attempts.c.key == key, attempts.c.at > now)
    return connection.execute(found.limit(1)).first() is not None
