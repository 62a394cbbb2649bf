"""Client links: one order, one secret, good until it expires or is revoked.

A link is opened by GET, which changes nothing that matters: mail scanners and previews open links too.
Whatever decides something is confirmed by POST from the page behind it.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime, timedelta

from sqlalchemy import Connection, bindparam, insert, select, update

from service.access.secrets import LINK, digest, new_secret
from service.access.sessions import LinkGrant
from service.orders.ids import new_id
from service.store.access_tables import client_links
from service.store.prepared import Prepared

LIFE = timedelta(days=60)


@dataclass(frozen=True)
class NewLink:
    """A link just made: the only moment its token is known."""

    id: str
    token: str
    expires_at: datetime


@dataclass(frozen=True)
class LinkRow:
    """A link as the workshop sees it in a list."""

    id: str
    created_at: datetime
    expires_at: datetime
    revoked_at: datetime | None
    last_used_at: datetime | None


def make_link(
    connection: Connection, order_id: str, workshop_id: str, now: datetime, secret: str | None = None
) -> NewLink:
    """A new link to an order, with a random secret or the one given. Older ones stay good: the client may still
    use the mail they have."""
    link = NewLink(new_id(), secret or new_secret(LINK), now + LIFE)
    connection.execute(
        insert(client_links).values(
            id=link.id,
            token_hash=digest(link.token),
            order_id=order_id,
            workshop_id=workshop_id,
            created_at=now,
            expires_at=link.expires_at,
        )
    )
    return link


def is_link_good(connection: Connection, link_id: str, token: str, now: datetime) -> bool:
    """Whether that link was not revoked, has not expired, and opens by that secret."""
    grant = find_link(connection, token, now)
    return grant is not None and grant.link_id == link_id


# Asked with every request of a client's program, so built once.
_LIVE = Prepared(
    select(client_links.c.id, client_links.c.order_id, client_links.c.workshop_id).where(
        client_links.c.token_hash == bindparam("this"),
        client_links.c.revoked_at.is_(None),
        client_links.c.expires_at > bindparam("now"),
    )
)


def find_link(connection: Connection, token: str, now: datetime) -> LinkGrant | None:
    """The order a token opens; ``None`` for a wrong, expired or revoked one alike."""
    row = _LIVE.one_or_none(connection, {"this": digest(token), "now": now})
    return None if row is None else LinkGrant(*row)


def find_lapsed_link(connection: Connection, token: str) -> LinkGrant | None:
    """The order of a token that was real once, expired or not, unless revoked: enough to mail a new one, no
    more.
    """
    row = connection.execute(
        select(client_links.c.id, client_links.c.order_id, client_links.c.workshop_id).where(
            client_links.c.token_hash == digest(token), client_links.c.revoked_at.is_(None)
        )
    ).one_or_none()
    return None if row is None else LinkGrant(*row)


def workshop_of(connection: Connection, token: str) -> str | None:
    """The workshop of a token that was real once, revoked or not."""
    found = select(client_links.c.workshop_id).where(client_links.c.token_hash == digest(token))
    workshop_id: str | None = connection.scalar(found)
    return workshop_id


def note_link_used(connection: Connection, link_id: str, now: datetime) -> None:
    """Note that a link was opened."""
    connection.execute(update(client_links).where(client_links.c.id == link_id).values(last_used_at=now))


def list_links(connection: Connection, order_id: str) -> list[LinkRow]:
    """The links of an order, newest first."""
    rows = connection.execute(
        select(
            client_links.c.id,
            client_links.c.created_at,
            client_links.c.expires_at,
            client_links.c.revoked_at,
            client_links.c.last_used_at,
        )
        .where(client_links.c.order_id == order_id)
        .order_by(client_links.c.created_at.desc(), client_links.c.id)
    )
    return [LinkRow(*row) for row in rows]


def revoke_links(connection: Connection, order_id: str, now: datetime, link_id: str | None = None) -> int:
    """Revoke one link of an order, or all of them; how many were good until now."""
    which = [client_links.c.order_id == order_id, client_links.c.revoked_at.is_(None)]
    if link_id is not None:
        which.append(client_links.c.id == link_id)
    return connection.execute(update(client_links).where(*which).values(revoked_at=now)).rowcount
