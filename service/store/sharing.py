"""One view of the store for everything that one page shows, and one transaction for everything that one act does.

Use cases open their own transactions. A page asks several of them about the same order, and an act may be made of
several of them; :class:`Shared` stands for the database while they run, so that they meet the same state, and so
that a question asked twice of one view is answered once (:func:`asked_once`).
"""

from __future__ import annotations

from collections.abc import Callable, Hashable, Iterator, Sequence
from contextlib import AbstractContextManager, ExitStack, contextmanager
from functools import wraps
from typing import Any, ParamSpec, Protocol, TypeVar

from sqlalchemy import Connection

from service.store import wall

P = ParamSpec("P")
T = TypeVar("T")
ANSWERS = "slatproof_answers"
"""Where a connection holds what its shared view has answered before."""


WRITES = "slatproof_writes"
"""Option of a connection whose transaction may write."""


def may_write(connection: Connection) -> bool:
    """Whether the transaction in hand may have changed something that is not committed."""
    return bool(connection.get_execution_options().get(WRITES, False))


class Transactions(Protocol):
    """The transactions of one database (:class:`service.store.engine.Database`)."""

    def reading(self) -> AbstractContextManager[Connection]:
        """One consistent view of the store."""

    def writing(self) -> AbstractContextManager[Connection]:
        """A transaction that may write."""

    def forget_old_rows(self) -> None:
        """What was deleted leaves the database's files too."""


def asked_once(read: Callable[P, T]) -> Callable[P, T]:
    """Answers a read of the store from what the same shared view has answered before; elsewhere it just reads.

    The first argument is the connection, the others are values. Answers are frozen values, or lists of them, which
    everybody gets a list of their own of.
    """

    @wraps(read)
    def reading(*args: P.args, **named: P.kwargs) -> T:
        connection: Any = args[0]
        answers: dict[Hashable, Any] | None = connection.info.get(ANSWERS)
        if answers is None:
            return read(*args, **named)
        question = (read, *map(_hashable, args[1:]), *sorted(named.items()))
        if question not in answers:
            answers[question] = read(*args, **named)
        answer: Any = answers[question]
        return list(answer) if isinstance(answer, list) else answer  # type: ignore[return-value]

    return reading


def _hashable(value: object) -> object:
    return tuple(value) if isinstance(value, Sequence) and not isinstance(value, str) else value


class Shared:
    """The ``UnitOfWork`` of one visitor's page or act; used by one thread at a time.

    Everything read sees one view, which ends when something is written, and with :meth:`let_go`.
    """

    def __init__(self, database: Transactions) -> None:
        self._database = database
        self._open = ExitStack()
        self._view: Connection | None = None
        self._act: Connection | None = None
        self._answers: dict[Hashable, Any] = {}

    @contextmanager
    def reading(self) -> Iterator[Connection]:
        """The shared view; within an act, the act's transaction."""
        if self._act is not None:
            wall.keep(self._act)
            yield self._act
            return
        if self._view is None:
            self._view = self._open.enter_context(self._database.reading())
            self._view.info[ANSWERS] = self._answers
        wall.keep(self._view)
        yield self._view

    @contextmanager
    def writing(self) -> Iterator[Connection]:
        """A transaction of its own; within an act, the act's."""
        if self._act is not None:
            wall.keep(self._act)
            yield self._act
            return
        self.forget()
        with self._database.writing() as connection:
            yield connection

    @contextmanager
    def acting(self) -> Iterator[None]:
        """All that is written until the end is one transaction: kept whole, or, where an error leaves, not at all."""
        self.forget()
        with self._database.writing() as connection:
            self._act = connection
            try:
                yield
            finally:
                self._act = None

    def forget_old_rows(self) -> None:
        """As the database does it; within an act it is left to housekeeping, for the act is not over."""
        if self._act is None:
            self.forget()
            self._database.forget_old_rows()

    def let_go(self) -> None:
        """End the view; what it has answered stays known."""
        if self._view is not None:
            self._view.info.pop(ANSWERS, None)
        self._view = None
        self._open.close()

    def forget(self) -> None:
        """End the view, and ask everything anew."""
        self.let_go()
        self._answers.clear()
