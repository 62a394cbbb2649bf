"""Server-side sessions: the browser holds a random secret, the database its digest and everything else.

There are two kinds with the same life: an account's session (a maker or helper signed in), and a client's
session (a browser that opened one or more order links). Each is ended by revoking its row. A session's
secret is always made here, never taken from a request, and changes whenever what it opens changes: a secret
planted in somebody's browser (session fixation) opens nothing.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta

from sqlalchemy import Connection, bindparam, delete, insert, select, update

from service.access.secrets import SESSION, digest, new_secret
from service.orders.ids import new_id
from service.store.access_tables import accounts, client_links, second_factors, session_links, sessions
from service.store.prepared import Prepared
from service.store.tables import workshops

LONGEST = timedelta(days=30)
IDLE = timedelta(days=7)
CLIENT_LONGEST = timedelta(days=90)
_SEEN_EVERY = timedelta(
    minutes=5
)  # how stale 'last seen' may be: one write in five minutes, not one a request
_MOST_LINKS = 50


@dataclass(frozen=True)
class Visitor:
    """Where a request came from, as far as it is recorded.

    Attributes:
        address: empty where it is not known, behind a proxy that was not declared.
        browser: what tells one browser from another; empty for programs. Not recorded with sessions.
    """

    address: str
    agent: str = ""
    browser: str = ""


@dataclass(frozen=True)
class AccountSession:
    """A live session of an account.

    Attributes:
        second_step: whether the account has one.
        required: whether its workshop asks one of everybody.
        stale: 'last seen' should be written.
    """

    id: str
    account_id: str
    workshop_id: str
    name: str
    email: str
    role: str
    second_step: bool
    required: bool
    stale: bool

    def lacks_second_step(self, installation: bool) -> bool:
        """Whether a second step is asked for, by the workshop or the ``installation``, and is not set up."""
        return not self.second_step and (self.required or installation)


@dataclass(frozen=True)
class LinkGrant:
    """One order that a client may act on, and the link that says so."""

    link_id: str
    order_id: str
    workshop_id: str


@dataclass(frozen=True)
class ClientSession:
    """A live client session with the links it holds that are still good."""

    id: str
    grants: tuple[LinkGrant, ...]


@dataclass(frozen=True)
class SessionRow:
    """A session as its owner sees it in a list."""

    id: str
    created_at: datetime
    last_seen_at: datetime
    address: str
    agent: str


def _open(
    connection: Connection, account_id: str | None, visitor: Visitor, now: datetime, longest: timedelta
) -> tuple[str, str]:
    secret, row = new_secret(SESSION), new_id()
    connection.execute(
        insert(sessions).values(
            id=row,
            secret_hash=digest(secret),
            account_id=account_id,
            created_at=now,
            last_seen_at=now,
            expires_at=now + longest,
            address=visitor.address[:64],
            agent=visitor.agent[:200],
        )
    )
    return secret, row


def open_account_session(connection: Connection, account_id: str, visitor: Visitor, now: datetime) -> str:
    """Start a session for an account that has just proved itself; the secret for its cookie."""
    return _open(connection, account_id, visitor, now, LONGEST)[0]


# Asked with every request of a signed-in person, so built once.
_LIVE_SESSION = Prepared(
    select(sessions.c.id, sessions.c.account_id, sessions.c.last_seen_at)
    .add_columns(accounts.c.workshop_id, accounts.c.name, accounts.c.email, accounts.c.role)
    .add_columns(second_factors.c.confirmed_at, workshops.c.second_step_required)
    .join(accounts, accounts.c.id == sessions.c.account_id)
    .join(workshops, workshops.c.id == accounts.c.workshop_id)
    .outerjoin(second_factors, second_factors.c.account_id == accounts.c.id)
    .where(
        sessions.c.secret_hash == bindparam("secret"),
        sessions.c.revoked_at.is_(None),
        sessions.c.expires_at > bindparam("now"),
        sessions.c.last_seen_at > bindparam("idle"),
        accounts.c.disabled_at.is_(None),
    )
)


def find_account_session(connection: Connection, secret: str, now: datetime) -> AccountSession | None:
    """The live session of ``secret``: not revoked, not expired, not idle too long, its account not
    disabled.
    """
    given = {"secret": digest(secret), "now": now, "idle": now - IDLE}
    row = _LIVE_SESSION.one_or_none(connection, given)
    if row is None:
        return None
    stale = now - row.last_seen_at >= _SEEN_EVERY
    has = row.confirmed_at is not None
    known = (row.id, row.account_id, row.workshop_id, row.name, row.email, row.role)
    return AccountSession(*known, has, row.second_step_required, stale)


def mark_seen(connection: Connection, session_id: str, now: datetime) -> None:
    """Note that a session is in use, which keeps it from idling out."""
    connection.execute(update(sessions).where(sessions.c.id == session_id).values(last_seen_at=now))


def open_client_session(
    connection: Connection, link_id: str, previous: str | None, visitor: Visitor, now: datetime
) -> str:
    """A new client session holding ``link_id`` and the links of the ``previous`` secret, which ends.

    So a browser that opens the links of three orders has all three, under a secret no earlier page has seen.
    """
    held = find_client_session(connection, previous, now) if previous else None
    kept = [grant.link_id for grant in held.grants] if held else []
    secret, row = _open(connection, None, visitor, now, CLIENT_LONGEST)
    for link in dict.fromkeys([link_id, *kept][:_MOST_LINKS]):
        connection.execute(insert(session_links).values(session_id=row, link_id=link))
    if held:
        connection.execute(update(sessions).where(sessions.c.id == held.id).values(revoked_at=now))
    return secret


_LIVE_CLIENT_SESSION = Prepared(
    select(sessions.c.id, client_links.c.id.label("link_id"), client_links.c.order_id)
    .add_columns(client_links.c.workshop_id)
    .join(session_links, session_links.c.session_id == sessions.c.id)
    .join(client_links, client_links.c.id == session_links.c.link_id)
    .where(
        sessions.c.secret_hash == bindparam("secret"),
        sessions.c.account_id.is_(None),
        sessions.c.revoked_at.is_(None),
        sessions.c.expires_at > bindparam("now"),
        client_links.c.revoked_at.is_(None),
        client_links.c.expires_at > bindparam("now"),
    )
    .order_by(client_links.c.created_at.desc())
)


def find_client_session(connection: Connection, secret: str, now: datetime) -> ClientSession | None:
    """The live client session of ``secret`` with the links it holds that are neither expired nor revoked."""
    rows = _LIVE_CLIENT_SESSION.rows(connection, {"secret": digest(secret), "now": now})
    if not rows:
        return None
    return ClientSession(
        rows[0].id, tuple(LinkGrant(row.link_id, row.order_id, row.workshop_id) for row in rows)
    )


def end_session(connection: Connection, secret: str, now: datetime) -> None:
    """Sign out: the secret opens nothing from now on."""
    connection.execute(
        update(sessions)
        .where(sessions.c.secret_hash == digest(secret), sessions.c.revoked_at.is_(None))
        .values(revoked_at=now)
    )


def list_sessions(connection: Connection, account_id: str, now: datetime) -> Sequence[SessionRow]:
    """Where an account is signed in, latest first."""
    rows = connection.execute(
        select(
            sessions.c.id,
            sessions.c.created_at,
            sessions.c.last_seen_at,
            sessions.c.address,
            sessions.c.agent,
        )
        .where(
            sessions.c.account_id == account_id,
            sessions.c.revoked_at.is_(None),
            sessions.c.expires_at > now,
            sessions.c.last_seen_at > now - IDLE,
        )
        .order_by(sessions.c.last_seen_at.desc(), sessions.c.id)
    )
    return [SessionRow(*row) for row in rows]


def revoke_session(connection: Connection, account_id: str, session_id: str, now: datetime) -> bool:
    """End one of an account's own sessions by its row name; whether there was one to end."""
    done = connection.execute(
        update(sessions)
        .where(
            sessions.c.id == session_id, sessions.c.account_id == account_id, sessions.c.revoked_at.is_(None)
        )
        .values(revoked_at=now)
    )
    return done.rowcount == 1


def revoke_all_sessions(
    connection: Connection, account_id: str, now: datetime, *, but: str | None = None
) -> int:
    """End every session of an account (new password, account disabled), ``but`` one; how many ended."""
    done = connection.execute(
        update(sessions)
        .where(
            sessions.c.account_id == account_id, sessions.c.revoked_at.is_(None), sessions.c.id != (but or "")
        )
        .values(revoked_at=now)
    )
    return done.rowcount


def sweep_sessions(connection: Connection, now: datetime) -> int:
    """Delete sessions that ended or expired more than a month ago; how many."""
    past = now - timedelta(days=31)
    done = connection.execute(
        delete(sessions).where((sessions.c.expires_at < past) | (sessions.c.revoked_at < past))
    )
    return done.rowcount
