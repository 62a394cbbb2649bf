"""What a use case needs from outside, as the composition root hands it over."""

from __future__ import annotations

from collections.abc import Callable, Container, Iterable, Iterator, Mapping
from contextlib import AbstractContextManager
from dataclasses import dataclass, field
from datetime import datetime
from pathlib import Path
from typing import Any, Protocol, TypeVar

from sqlalchemy import Connection

from artwork.intake.foreign import Converted, Foreign
from artwork.intake.values import Limits as ArtLimits
from service.access.rate_limit import RequestBudget
from service.orders.letters import Letter
from service.orders.shares import Shares
from service.store.blobs import Blobs
from service.usecases.cache import Cache

T = TypeVar("T")


class UnitOfWork(Protocol):
    """Transactions. Leaving the block commits; leaving it by an error rolls everything back."""

    def reading(self) -> AbstractContextManager[Connection]:
        """One consistent view of the store; writes nothing."""

    def writing(self) -> AbstractContextManager[Connection]:
        """A transaction that may write (``BEGIN IMMEDIATE`` on SQLite)."""

    def forget_old_rows(self) -> None:
        """What was deleted leaves the database's files too, as far as it is ours to say; called after an erasure."""


class Queue(Protocol):
    """Durable background work."""

    def enqueue(self, connection: Connection, kind: str, key: str, payload: Mapping[str, Any]) -> None:
        """Ask for work within the caller's own transaction: rolled back with it, run at least once after it.

        Args:
            kind: ``service.orders.work.JobKind`` value, or a mail.
            key: deterministic; the same key is never run twice side by side, a known one is not run again.
            payload: plain JSON values.
        """


class Compute(Protocol):
    """CPU work in processes that can be killed."""

    def run(
        self,
        function: Callable[..., T],
        *args: Any,
        about: str | None = None,
        seconds: float | None = None,
        cpu_seconds: float | None = None,
        wait: float | None = None,
        stranger: bool = False,
        whose: str | None = None,
        gentle: bool = False,
        drawing: bool = False,
    ) -> T:
        """Run an importable function elsewhere and wait for its value.

        Args:
            function: importable by name; takes picklable values, and gives plain ones and dataclasses of them,
                which are built anew from its declared return type.
            *args: its arguments.
            about: what it works on (an outline's digest): the process that last had it in hand is preferred.
            seconds: longest run, where it differs from the usual.
            cpu_seconds: most processor time, where it differs from the usual.
            wait: longest wait for a free process; ``None`` waits as long as it takes.
            stranger: whether it reads what a stranger sent: its process reads nothing else afterwards.
            whose: an order's id: no order has more than half of the processes in hand.
            gentle: let everything else on the machine go first.
            drawing: whether it draws a picture that somebody waits for: no check stands before it.

        Raises:
            EngineError: the function's own, and one when the process went over a limit or died.
            TooManyError: no process became free within ``wait``.
        """

    def convert(self, part: Foreign) -> Converted:
        """What another program, shut in, makes of a file that is not read here; empty where it makes nothing.

        EngineError where it ends at a limit.
        """

    def run_each(self, function: Callable[..., T], calls: Iterable[tuple[Any, ...]]) -> Iterator[T]:
        """Run an importable function for each of many calls, several side by side; answers in the calls' order.

        Args:
            function: as for ``run``.
            calls: its arguments, call by call.

        Raises:
            EngineError: as ``run``, for the first call that ends so.
        """


class Clock(Protocol):
    """The time."""

    def now(self) -> datetime:
        """Now, in UTC, with its time zone."""


class Outbox(Protocol):
    """Mail to be sent after the transaction has been committed, once per key."""

    def put(self, connection: Connection, letter: Letter) -> None:
        """Put one letter out within the caller's transaction."""

    def forget(self, letter: str) -> None:
        """What was written of a letter goes, where it went to a folder of ours; mail that was sent is gone."""


@dataclass(frozen=True)
class InstalledAs:
    """What the installation was told that its owner may have to change.

    Attributes:
        public_url: the address that people were told; empty where none is set.
        host: the address that is listened on.
        trusts_a_proxy: whether a proxy was declared whose word on the client's address is believed.
        sends_mail: whether mail goes to a mail server; else it lies in a folder.
    """

    public_url: str = ""
    host: str = "127.0.0.1"
    trusts_a_proxy: bool = False
    sends_mail: bool = False


@dataclass(frozen=True)
class Context:
    """Everything outside, by protocol; tests hand in their own.

    Attributes:
        base_url: where people reach the service, without a slash at the end; empty: printed nowhere.
        folder: on the disk that files and orders are kept on; ``None`` where neither is on this machine.
        second_step_required: the installation asks a second step of everybody who signs in.
        orders_an_hour: that one network address, and one mail address, may place without an account; 0: any number.
        requests: of each token.
        shares: what each workshop of the place may have.
        repair_seconds: of a processor, for the repairs of one cut.
        breached: passwords that nobody may choose anew.
        art_limits: how much one artwork file may ask for when it is read.
        installed_as: what its owner may have to change, for the page that says whether everything is well.
        mails_checkpoints: whether makers are mailed checkpoints of the record, to be kept elsewhere.
        webhooks_anywhere: webhooks may lead into the installation's own network, for trying them out.
        kept: what was worked out lately; what it is kept by begins with what it is.
    """

    store: UnitOfWork
    blobs: Blobs
    queue: Queue
    compute: Compute
    clock: Clock
    outbox: Outbox
    base_url: str = ""
    folder: Path | None = None
    second_step_required: bool = False
    orders_an_hour: int = 0
    requests: RequestBudget = field(default_factory=lambda: RequestBudget(0))
    shares: Shares = field(default_factory=Shares)
    repair_seconds: float = 17.0
    breached: Container[str] = ()
    art_limits: ArtLimits = field(default_factory=ArtLimits)
    installed_as: InstalledAs = InstalledAs()
    mails_checkpoints: bool = True
    webhooks_anywhere: bool = False
    kept: Cache[Any] = field(default_factory=lambda: Cache(128))
