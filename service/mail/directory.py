"""Whom a message goes to, and the link it carries."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from typing import Any

from sqlalchemy import Connection, select

from service.access.accounts import clean_address, make_password_link
from service.access.links import make_link
from service.language.chosen import _, spoken
from service.language.figures import long_day_words
from service.mail.outbox import Message
from service.mail.postman import Addressed
from service.orders.actors import Role
from service.store import machines
from service.store.access_tables import accounts
from service.store.tables import orders, workshops


@dataclass(frozen=True)
class StoredDirectory:
    """Looks people up in the store.

    Attributes:
        base_url: where the service is reached, without a slash at the end.
        sender: address mail comes from.
    """

    base_url: str
    sender: str

    def __call__(self, connection: Connection, message: Message, now: datetime) -> Addressed | None:
        """See ``service.mail.postman.Directory``."""
        workshop = connection.scalar(select(workshops.c.name).where(workshops.c.id == message.workshop_id))
        if workshop is None:
            return None
        facts: dict[str, Any] = {"workshop": workshop}
        order = None
        if message.order_id is not None and message.audience != "account":
            order = _order(connection, message)
            if order is None or order.erased_at is not None:
                return None
            facts |= {"number": order.number, "client": order.contact_name or order.contact_organisation}
        if order is not None and message.audience == "client":
            language = order.contact_language
        else:
            language = machines.read_machine(connection, message.workshop_id)[0].language
        with spoken(language):
            to = self._whom(connection, message, order, now, facts)
        if not to:
            return None
        return Addressed(tuple(to), (workshop, self.sender), facts | dict(message.facts), language)

    def _whom(
        self, connection: Connection, message: Message, order: Any, now: datetime, facts: dict[str, Any]
    ) -> list[tuple[str, str]]:
        """Names and addresses, with what the words need besides."""
        if message.audience == "account":
            return self._account(connection, message, now, facts)
        if order is not None and message.audience == "client":
            return self._client(connection, order, now, facts)
        facts["url"] = self.base_url + ("/bench/record" if order is None else f"/bench/orders/{order.id}")
        return _makers(connection, message.workshop_id, facts)

    def _client(
        self, connection: Connection, order: Any, now: datetime, facts: dict[str, Any]
    ) -> list[tuple[str, str]]:
        address = clean_address(order.contact_email)
        if address is None:
            return []
        link = make_link(connection, order.id, order.workshop_id, now)
        facts["url"] = f"{self.base_url}/link/{link.token}"
        facts["until"] = long_day_words(link.expires_at)
        facts["greeting"] = (
            _("Dear {name},", name=order.contact_name) if order.contact_name else _("Good day,")
        )
        return [(order.contact_name, address)]

    def _account(
        self, connection: Connection, message: Message, now: datetime, facts: dict[str, Any]
    ) -> list[tuple[str, str]]:
        row = connection.execute(
            select(accounts.c.id, accounts.c.name, accounts.c.email).where(
                accounts.c.id == message.account_id, accounts.c.disabled_at.is_(None)
            )
        ).one_or_none()
        if row is None:
            return []
        facts["url"] = f"{self.base_url}/password/{make_password_link(connection, row.id, now)}"
        facts["greeting"] = _("Dear {name},", name=row.name)
        return [(row.name, row.email)]


def _makers(connection: Connection, workshop_id: str, facts: dict[str, Any]) -> list[tuple[str, str]]:
    facts["greeting"] = _("Good day,")
    rows = connection.execute(
        select(accounts.c.name, accounts.c.email)
        .where(
            accounts.c.workshop_id == workshop_id,
            accounts.c.role == Role.MAKER.value,
            accounts.c.disabled_at.is_(None),
        )
        .order_by(accounts.c.email)
    )
    return [(row.name, row.email) for row in rows]


def _order(connection: Connection, message: Message) -> Any:
    return connection.execute(
        select(
            orders.c.id,
            orders.c.workshop_id,
            orders.c.number,
            orders.c.contact_name,
            orders.c.contact_email,
            orders.c.contact_organisation,
            orders.c.contact_language,
            orders.c.erased_at,
        ).where(orders.c.id == message.order_id, orders.c.workshop_id == message.workshop_id)
    ).one_or_none()
