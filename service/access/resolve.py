"""From what a request carries to the one actor it comes from."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime
from enum import StrEnum

from sqlalchemy import Connection

from service.access.links import find_link
from service.access.secrets import LINK, TOKEN, digest
from service.access.sessions import LinkGrant, find_account_session, find_client_session, mark_seen
from service.access.tokens import find_token, note_token_used
from service.orders.actors import Actor, Client, Helper, Maker, Role, ShopSite, Visitor

ORDER_HEADER = "slatproof-order"
_EARLIER = "token, by the secret before"


class Means(StrEnum):
    """By what a request proved who it is; cookies are sent by a browser unasked, so they need more checks."""

    NONE = "none"
    COOKIE = "cookie"
    HEADER = "header"


@dataclass(frozen=True)
class Credentials:
    """What a request carries; nothing in here is believed yet.

    Attributes:
        bearer: the token of ``Authorization: Bearer …``.
        session: the account session's cookie.
        client_session: the client session's cookie.
        visit: the cookie every browser gets, for visitors' idempotency keys and form tokens.
        order_id: the order the request says it is about (header ``Slatproof-Order``): picks one of the client
            session's orders, and the client's part where a maker's browser also opened the client's link.
        address: where the request came from.
    """

    bearer: str | None = None
    session: str | None = None
    client_session: str | None = None
    visit: str | None = None
    order_id: str | None = None
    address: str = ""


@dataclass(frozen=True)
class Resolved:
    """Who a request comes from.

    Attributes:
        actor: ``None`` where a bearer token was sent and opens nothing, or nobody is known and no workshop
            was named, or an account lacks the second step that is asked of everybody.
        unready: that account's owner: all they may do is set the second step up.
        means: how the actor proved it.
        session_id: row of the session, for 'this one' in a list.
        email: of the account, for the person's own page.
        orders: every order the browser's client session opens.
        unwritten: rows whose 'last seen' is out of date; see :func:`note_use`.
    """

    actor: Actor | None
    means: Means
    session_id: str | None = None
    email: str | None = None
    orders: tuple[str, ...] = ()
    unwritten: tuple[tuple[str, str], ...] = ()
    unready: Maker | Helper | None = None


COOKIE_SESSION = "slatproof_bench"
COOKIE_CLIENT = "slatproof_orders"
COOKIE_VISIT = "slatproof_visit"


def credentials_of(headers: Mapping[str, str], cookies: Mapping[str, str], address: str) -> Credentials:
    """Pick the credentials out of a request (header names in lower case, as ASGI has them)."""
    kind, _, token = headers.get("authorization", "").partition(" ")
    return Credentials(
        bearer=token.strip() if kind.lower() == "bearer" else None,
        session=cookies.get(COOKIE_SESSION),
        client_session=cookies.get(COOKIE_CLIENT),
        visit=cookies.get(COOKIE_VISIT),
        order_id=headers.get(ORDER_HEADER),
        address=address,
    )


def resolve(
    connection: Connection,
    credentials: Credentials,
    now: datetime,
    workshop_id: str | None = None,
    *,
    second_step: bool = False,
) -> Resolved:
    """Who sent these credentials.

    A bearer token decides alone: a wrong one is nobody, never a fall-back to a cookie. Of cookies, the
    client's session speaks for the order the request names if it opens that order; else the account's
    session speaks; else the client's session for its newest order. At the public door of a workshop
    (``workshop_id``) a client who names no order, and an account of another workshop, are visitors like
    everybody else. An account without the second step that its workshop or the installation
    (``second_step``) asks of everybody is nobody yet.

    Reads only. At most three statements.
    """
    if credentials.bearer is not None:
        return _by_bearer(connection, credentials, now)
    client = (
        find_client_session(connection, credentials.client_session, now)
        if credentials.client_session
        else None
    )
    grants = client.grants if client else ()
    orders = tuple(grant.order_id for grant in grants)
    named = next((grant for grant in grants if grant.order_id == credentials.order_id), None)
    if named and client:
        return Resolved(_client(named, credentials), Means.COOKIE, client.id, orders=orders)
    account = find_account_session(connection, credentials.session, now) if credentials.session else None
    if account and workshop_id in {None, account.workshop_id}:
        kind = Maker if account.role == Role.MAKER else Helper
        person = kind(account.workshop_id, account.account_id, account.name, credentials.address)
        unwritten = (("session", account.id),) if account.stale else ()
        lacking = account.lacks_second_step(second_step)
        actor, unready = (None, person) if lacking else (person, None)
        return Resolved(actor, Means.COOKIE, account.id, account.email, orders, unwritten, unready)
    if grants and client and credentials.order_id is None and workshop_id is None:
        return Resolved(_client(grants[0], credentials), Means.COOKIE, client.id, orders=orders)
    return Resolved(_visitor(credentials, workshop_id), Means.NONE, orders=orders)


def note_use(connection: Connection, resolved: Resolved, now: datetime) -> None:
    """Write the 'last seen' that :func:`resolve` found out of date; in a transaction of its own."""
    for kind, row in resolved.unwritten:
        if kind == "session":
            mark_seen(connection, row, now)
        else:
            note_token_used(connection, row, now, by_previous=kind == _EARLIER)


def _by_bearer(connection: Connection, credentials: Credentials, now: datetime) -> Resolved:
    secret = credentials.bearer or ""
    if secret.startswith(LINK):
        grant = find_link(connection, secret, now)
        return Resolved(_client(grant, credentials) if grant else None, Means.HEADER)
    token = find_token(connection, secret, now) if secret.startswith(TOKEN) else None
    if token is None:
        return Resolved(None, Means.HEADER)
    unwritten = ((_EARLIER if token.by_previous else "token", token.id),) if token.stale else ()
    actor = ShopSite(token.workshop_id, token.id, token.scopes, credentials.address, token.test)
    return Resolved(actor, Means.HEADER, unwritten=unwritten)


def _client(grant: LinkGrant, credentials: Credentials) -> Client:
    return Client(grant.workshop_id, grant.order_id, grant.link_id, credentials.address)


def _visitor(credentials: Credentials, workshop_id: str | None) -> Visitor | None:
    if workshop_id is None:
        return None
    key = digest(credentials.visit) if credentials.visit else ""
    return Visitor(workshop_id, credentials.address, key)
