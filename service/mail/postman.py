"""The postman: a thread that sends what is due, one message after another, and tries again what did not
go.
"""

from __future__ import annotations

import logging
from collections.abc import Mapping
from contextlib import AbstractContextManager
from dataclasses import dataclass
from datetime import datetime
from email.message import EmailMessage
from functools import partial
from typing import Any, Protocol

from sqlalchemy import Connection

from service.language.chosen import ENGLISH, spoken
from service.mail.outbox import Clock, Message, mark_handed_over, mark_not_sent, mark_sent, take_due
from service.mail.transport import NotSentError, Transport
from service.mail.writing import Envelope, write_mail
from service.store.bells import MAIL, Bells
from service.store.rounds import Rounds

_log = logging.getLogger("slatproof.mail")
_EVERY_SECONDS = 1.0
_QUIET_SECONDS = 10.0
"""Where mail that is put out is rung for: what is to be tried again is due at some moment all the same."""


class Store(Protocol):
    """Transactions that may write."""

    def writing(self) -> AbstractContextManager[Connection]:
        """Leaving the block commits; leaving it by an error rolls back."""


@dataclass(frozen=True)
class Addressed:
    """Whom a message goes to, and the facts its words need.

    Attributes:
        to: (name, address) pairs, at least one.
        sender: (name, address).
        facts: the message's own, and what was looked up; ``url`` among them.
        language: what it is written in.
    """

    to: tuple[tuple[str, str], ...]
    sender: tuple[str, str]
    facts: Mapping[str, Any]
    language: str = ENGLISH


class Directory(Protocol):
    """Looks up whom a message goes to."""

    def __call__(self, connection: Connection, message: Message, now: datetime) -> Addressed | None:
        """The message addressed, or ``None`` where there is nobody to write to.

        Makes the link that the mail carries, in this transaction: no secret waits in the outbox.
        """


class Postman:
    """Sends what is due, in a thread of its own. Several may run, in several processes."""

    def __init__(
        self,
        store: Store,
        transport: Transport,
        directory: Directory,
        clock: Clock,
        bells: Bells | None = None,
    ) -> None:
        """A postman who has not begun; with bells, who is rung for mail that is put out."""
        self._store = store
        self._transport = transport
        self._directory = directory
        self._clock = clock
        self._bells = bells or Bells()
        self._rounds = Rounds(
            "postman",
            bells=self._bells,
            topic=MAIL,
            look=self._look,
            rest=self._rest,
            failed=partial(_log.exception, "mail could not be looked after; trying again"),
        )

    def start(self) -> None:
        """Begin."""
        self._rounds.start()

    def stop(self, seconds: float = 5.0) -> None:
        """Finish the message in hand, waiting at most so long, and end."""
        self._rounds.stop(seconds)

    def deliver_due(self) -> int:
        """Try every message that is due, once; how many went."""
        gone, last = 0, None
        while not self._rounds.ending.is_set():
            taken = self._take(last)
            last = None
            if taken is None:
                break
            message, mail = taken
            if mail is not None and self._send(message, mail):
                gone, last = gone + 1, message.id
        if last is not None:
            self._mark_sent(last)
        return gone

    def _look(self) -> float:
        self.deliver_due()
        return self._rest()

    def _rest(self) -> float:
        return _QUIET_SECONDS if self._bells.reach_all else _EVERY_SECONDS

    def _take(self, last: str | None) -> tuple[Message, EmailMessage | None] | None:
        """What is due, written and handed over; no mail where it cannot go, ``None`` where nothing is due.

        Args:
            last: the message that has just gone, which is marked in the same transaction.
        """
        message, now = None, self._clock.now()
        try:
            with self._store.writing() as connection:
                if last is not None:
                    mark_sent(connection, last, now)
                message = take_due(connection, now)
                if message is None:
                    return None
                addressed = self._directory(connection, message, now)
                if addressed is None:
                    mark_not_sent(connection, message, "nobody to write to", now, for_good=True)
                    return message, None
                mail = _written(message, addressed)
                mark_handed_over(connection, message)
        except Exception as fault:
            if last is not None:
                self._mark_sent(last)
            if message is None:
                raise
            self._note_fault(message, fault)
            return message, None
        return message, mail

    def _send(self, message: Message, mail: EmailMessage) -> bool:
        try:
            self._transport.send(mail)
        except NotSentError as trouble:
            # What the server said names whom it would not take; it stands in the message's row.
            _log.warning("mail %s (%s) did not go", message.id, message.kind)
            self._note(message, str(trouble), for_good=trouble.for_good)
            return False
        except Exception as fault:  # noqa: BLE001 - one message's trouble is not the others'
            self._note_fault(message, fault)
            return False
        return True

    def _mark_sent(self, message_id: str) -> None:
        with self._store.writing() as connection:
            mark_sent(connection, message_id, self._clock.now())

    def _note_fault(self, message: Message, fault: Exception) -> None:
        """A fault of ours in one message must not hold up the others behind it."""
        _log.error("mail %s (%s) could not be written", message.id, message.kind, exc_info=fault)
        self._note(message, f"{type(fault).__name__}: {fault}", for_good=False)

    def _note(self, message: Message, trouble: str, *, for_good: bool) -> None:
        with self._store.writing() as connection:
            mark_not_sent(connection, message, trouble, self._clock.now(), for_good=for_good)


def _written(message: Message, addressed: Addressed) -> EmailMessage:
    domain = addressed.sender[1].rpartition("@")[2]
    envelope = Envelope(addressed.to, addressed.sender, f"{message.id}@{domain}", message.created_at)
    with spoken(addressed.language):
        return write_mail(message.kind, addressed.facts, envelope)
