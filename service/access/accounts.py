"""The people of a workshop: makers and helpers, and how they set their password."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta

from sqlalchemy import Connection, Select, func, insert, select, update

from service.access.secrets import PASSWORD_LINK, digest, new_secret
from service.access.sessions import revoke_all_sessions
from service.orders.actors import Role
from service.orders.ids import new_id
from service.store.access_tables import accounts, password_links, sessions

STAFF = frozenset({Role.MAKER, Role.HELPER})
PASSWORD_LINK_LIFE = timedelta(days=2)
# One address, no quotes, no comments, nothing that could end a header line (RFC 5321 §4.1.2, dot-string
# only).
_ADDRESS = re.compile(
    r"[A-Za-z0-9!#$%&'*+/=?^_`{|}~-]+(?:\.[A-Za-z0-9!#$%&'*+/=?^_`{|}~-]+)*"
    r"@[A-Za-z0-9](?:[A-Za-z0-9-]*[A-Za-z0-9])?(?:\.[A-Za-z0-9](?:[A-Za-z0-9-]*[A-Za-z0-9])?)*"
)


@dataclass(frozen=True)
class Account:
    """One person of a workshop."""

    id: str
    workshop_id: str
    email: str
    name: str
    role: Role
    password_hash: str | None
    disabled_at: datetime | None


def clean_address(text: str) -> str | None:
    """An e-mail address in the form it is stored (lower case), or ``None`` when it is not one."""
    text = text.strip()
    if len(text) > 254 or not _ADDRESS.fullmatch(text):
        return None
    return text.lower()


_COLUMNS = (
    accounts.c.id,
    accounts.c.workshop_id,
    accounts.c.email,
    accounts.c.name,
    accounts.c.role,
    accounts.c.password_hash,
    accounts.c.disabled_at,
)


def add_account(
    connection: Connection,
    workshop_id: str,
    email: str,
    *,
    name: str,
    role: Role,
    now: datetime,
    password_hash: str | None = None,
) -> str:
    """A new account (``email`` as :func:`clean_address` gives it); its row name.

    Raises:
        sqlalchemy.exc.IntegrityError: the address has an account of this workshop already.
    """
    account = new_id()
    connection.execute(
        insert(accounts).values(
            id=account,
            workshop_id=workshop_id,
            email=email,
            name=name,
            role=Role(role).value,
            password_hash=password_hash,
            created_at=now,
        )
    )
    return account


def accounts_of(connection: Connection, email: str) -> Sequence[Account]:
    """The accounts of one person, one in each of their workshops, disabled or not: where they were last, first."""
    last = select(func.max(sessions.c.created_at)).where(sessions.c.account_id == accounts.c.id)
    found = select(*_COLUMNS, last.scalar_subquery().label("last")).where(accounts.c.email == email)
    rows = connection.execute(found.order_by(accounts.c.created_at, accounts.c.id)).all()
    by_last = sorted(rows, key=lambda row: row.last.timestamp() if row.last else 0.0, reverse=True)
    return [Account(*row[:4], Role(row.role), *row[5:7]) for row in by_last]


def get_account(connection: Connection, workshop_id: str, account_id: str) -> Account | None:
    """One account of a workshop."""
    row = connection.execute(
        select(*_COLUMNS).where(accounts.c.id == account_id, accounts.c.workshop_id == workshop_id)
    ).one_or_none()
    return None if row is None else Account(*row[:4], Role(row.role), *row[5:])


def list_accounts(connection: Connection, workshop_id: str) -> Sequence[Account]:
    """The people of a workshop by name."""
    rows = connection.execute(
        select(*_COLUMNS)
        .where(accounts.c.workshop_id == workshop_id)
        .order_by(accounts.c.name, accounts.c.id)
    )
    return [Account(*row[:4], Role(row.role), *row[5:]) for row in rows]


def change_account(
    connection: Connection,
    workshop_id: str,
    account_id: str,
    *,
    name: str | None = None,
    role: Role | None = None,
) -> None:
    """Give an account another name or role."""
    values = {"name": name, "role": None if role is None else Role(role).value}
    given = {key: value for key, value in values.items() if value is not None}
    if given:
        connection.execute(
            update(accounts)
            .where(accounts.c.id == account_id, accounts.c.workshop_id == workshop_id)
            .values(**given)
        )


def set_disabled(connection: Connection, account_id: str, disabled: bool, now: datetime) -> None:
    """Shut an account out (its sessions end at once) or let it in again."""
    connection.execute(
        update(accounts).where(accounts.c.id == account_id).values(disabled_at=now if disabled else None)
    )
    if disabled:
        revoke_all_sessions(connection, account_id, now)


def set_password(
    connection: Connection, account_id: str, password_hash: str, now: datetime, *, but: str | None = None
) -> None:
    """Set a new password of a person; all their sessions (``but`` one) and every open password link end.

    It is that of their accounts in other workshops too: call it where no workshop is served.
    """
    replace_hash(connection, account_id, password_hash)
    for each in connection.scalars(_of_the_same_person(account_id)).all():
        revoke_all_sessions(connection, each, now, but=but)
        connection.execute(
            update(password_links)
            .where(password_links.c.account_id == each, password_links.c.used_at.is_(None))
            .values(used_at=now)
        )


def replace_hash(connection: Connection, account_id: str, password_hash: str) -> None:
    """Store the same password under today's parameters, in each of the person's accounts; sessions stay."""
    of_person = accounts.c.id.in_(_of_the_same_person(account_id))
    connection.execute(update(accounts).where(of_person).values(password_hash=password_hash))


def _of_the_same_person(account_id: str) -> Select[str]:
    own = accounts.alias("own")
    return select(accounts.c.id).join(own, own.c.email == accounts.c.email).where(own.c.id == account_id)


def make_password_link(connection: Connection, account_id: str, now: datetime) -> str:
    """The secret of a link with which the account's owner sets a password; good once, for two days."""
    secret = new_secret(PASSWORD_LINK)
    connection.execute(
        insert(password_links).values(
            token_hash=digest(secret),
            account_id=account_id,
            created_at=now,
            expires_at=now + PASSWORD_LINK_LIFE,
        )
    )
    return secret


def find_password_link(connection: Connection, secret: str, now: datetime) -> Account | None:
    """The account whose password the secret may set; ``None`` for a wrong, used or expired one alike."""
    row = connection.execute(
        select(*_COLUMNS)
        .join(password_links, password_links.c.account_id == accounts.c.id)
        .where(
            password_links.c.token_hash == digest(secret),
            password_links.c.used_at.is_(None),
            password_links.c.expires_at > now,
            accounts.c.disabled_at.is_(None),
        )
    ).one_or_none()
    return None if row is None else Account(*row[:4], Role(row.role), *row[5:])
