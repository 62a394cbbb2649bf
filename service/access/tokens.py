"""API tokens with which a shop's own site acts for its clients."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import UTC, date, datetime, timedelta

from sqlalchemy import BindParameter, ColumnElement, Connection, bindparam, insert, select, update

from service.access.secrets import TOKEN, digest, new_secret
from service.orders.actors import Scope
from service.orders.ids import new_id
from service.store.access_tables import api_tokens, token_uses
from service.store.metadata import Instant
from service.store.prepared import Prepared

_USED_EVERY = timedelta(minutes=5)
_DAYS_LISTED = 90


@dataclass(frozen=True)
class NewToken:
    """A token just made: the only moment its secret is known."""

    id: str
    secret: str


@dataclass(frozen=True)
class LiveToken:
    """A token that is neither revoked nor expired.

    Attributes:
        stale: 'last used' should be written.
        by_previous: it came with the secret before.
        test: what it places are tests.
    """

    id: str
    workshop_id: str
    scopes: frozenset[Scope]
    stale: bool
    by_previous: bool = False
    test: bool = False


@dataclass(frozen=True)
class TokenRow:
    """A token as the workshop sees it in a list.

    Attributes:
        id: names it.
        name: what it is for.
        scopes: what it may do.
        origins: of the site's pages, from which a browser may call (RFC 6454); none: programs only.
        created_by: id of the account that made it.
        test: it reaches tests alone: orders that never reach the maker.
        previous_until: how long the secret before is good beside the new one; none: there is none.
    """

    id: str
    name: str
    scopes: frozenset[Scope]
    origins: tuple[str, ...]
    created_by: str
    created_at: datetime
    expires_at: datetime | None
    revoked_at: datetime | None
    last_used_at: datetime | None
    test: bool
    previous_until: datetime | None


@dataclass(frozen=True)
class TokenUse:
    """How much a token was used on one day.

    Attributes:
        day: in UTC.
        by_previous: by the secret before, while both are good.
        spans: spans of five minutes in which it was used.
        last_at: the last of them.
    """

    day: date
    by_previous: bool
    spans: int
    last_at: datetime


def _scopes(text: str) -> frozenset[Scope]:
    return frozenset(Scope(part) for part in text.split())


def make_token(
    connection: Connection,
    workshop_id: str,
    name: str,
    scopes: Iterable[Scope],
    *,
    created_by: str,
    now: datetime,
    expires_at: datetime | None = None,
    origins: Iterable[str] = (),
    test: bool = False,
) -> NewToken:
    """A new token for a workshop's site."""
    token = NewToken(new_id(), new_secret(TOKEN))
    connection.execute(
        insert(api_tokens).values(
            id=token.id,
            token_hash=digest(token.secret),
            workshop_id=workshop_id,
            name=name,
            scopes=" ".join(sorted(scopes)),
            origins=" ".join(sorted(set(origins))),
            created_by=created_by,
            created_at=now,
            expires_at=expires_at,
            test=test,
        )
    )
    return token


def renew_token(
    connection: Connection, workshop_id: str, token_id: str, now: datetime, overlap: timedelta
) -> str | None:
    """A new secret for a token; the one it has stays good for the overlap. ``None``: no such live token."""
    secret = new_secret(TOKEN)
    live = (
        api_tokens.c.id == token_id,
        api_tokens.c.workshop_id == workshop_id,
        api_tokens.c.revoked_at.is_(None),
    )
    done = connection.execute(
        update(api_tokens)
        .where(*live)
        .values(
            previous_hash=api_tokens.c.token_hash, previous_until=now + overlap, token_hash=digest(secret)
        )
    )
    return secret if done.rowcount == 1 else None


def find_token(connection: Connection, secret: str, now: datetime) -> LiveToken | None:
    """The live token of ``secret``; ``None`` for a wrong, expired or revoked one alike."""
    this = digest(secret)
    row = _FIND.one_or_none(connection, {"this": this, "now": now})
    if row is None:
        return None
    stale = row.last_used_at is None or now - row.last_used_at >= _USED_EVERY
    return LiveToken(
        row.id, row.workshop_id, _scopes(row.scopes), stale, row.token_hash != this, bool(row.test)
    )


def _opened_by(
    secret: str | BindParameter[str], now: datetime | BindParameter[datetime]
) -> ColumnElement[bool]:
    """That a token has this secret, or had it before and lets it be good still; given as values or parameters."""
    earlier = (api_tokens.c.previous_hash == secret) & (api_tokens.c.previous_until > now)
    opened: ColumnElement[bool] = (api_tokens.c.token_hash == secret) | earlier
    return opened


# Asked with every request of a site, so built once.
_FIND = Prepared(
    select(
        api_tokens.c.id,
        api_tokens.c.workshop_id,
        api_tokens.c.scopes,
        api_tokens.c.last_used_at,
        api_tokens.c.token_hash,
        api_tokens.c.test,
    ).where(
        _opened_by(bindparam("this"), bindparam("now", type_=Instant)),
        api_tokens.c.revoked_at.is_(None),
        api_tokens.c.expires_at.is_(None) | (api_tokens.c.expires_at > bindparam("now", type_=Instant)),
    )
)


def allows_origin(connection: Connection, origin: str, secret: str | None, now: datetime) -> bool:
    """Whether a browser's page of this origin may call: with a token its own origins count, else those of any."""
    live = (
        api_tokens.c.revoked_at.is_(None),
        api_tokens.c.expires_at.is_(None) | (api_tokens.c.expires_at > now),
        api_tokens.c.origins != "",
    )
    query = select(api_tokens.c.origins).where(*live)
    if secret is not None and secret.startswith(TOKEN):
        query = query.where(_opened_by(digest(secret), now))
    return any(origin in row.split() for row in connection.scalars(query))


def origins_named(connection: Connection, workshop_id: str, now: datetime) -> tuple[str, ...]:
    """The origins that a workshop's live tokens name, in their order."""
    live = api_tokens.c.expires_at.is_(None) | (api_tokens.c.expires_at > now)
    query = select(api_tokens.c.origins).where(
        api_tokens.c.workshop_id == workshop_id, api_tokens.c.revoked_at.is_(None), live
    )
    return tuple(sorted({origin for row in connection.scalars(query) for origin in row.split()}))


def note_token_used(connection: Connection, token_id: str, now: datetime, *, by_previous: bool) -> None:
    """Note that a token is in use, and on which day."""
    connection.execute(update(api_tokens).where(api_tokens.c.id == token_id).values(last_used_at=now))
    day = now.astimezone(UTC).date()
    this = (
        token_uses.c.token_id == token_id,
        token_uses.c.day == day,
        token_uses.c.by_previous == by_previous,
    )
    counted = update(token_uses).where(*this).values(spans=token_uses.c.spans + 1, last_at=now)
    if connection.execute(counted).rowcount == 0:
        values = {"token_id": token_id, "day": day, "by_previous": by_previous, "spans": 1, "last_at": now}
        connection.execute(insert(token_uses).values(values))


def list_uses(connection: Connection, workshop_id: str, token_id: str) -> list[TokenUse] | None:
    """On which days a token was used, latest first, at most 90; ``None``: no such token of this workshop."""
    known = select(api_tokens.c.id).where(
        api_tokens.c.id == token_id, api_tokens.c.workshop_id == workshop_id
    )
    if connection.scalar(known) is None:
        return None
    query = select(token_uses).where(token_uses.c.token_id == token_id)
    rows = connection.execute(
        query.order_by(token_uses.c.day.desc(), token_uses.c.by_previous).limit(_DAYS_LISTED)
    )
    return [TokenUse(row.day, row.by_previous, row.spans, row.last_at) for row in rows]


def list_tokens(connection: Connection, workshop_id: str) -> list[TokenRow]:
    """A workshop's tokens, newest first, revoked ones too."""
    rows = connection.execute(
        select(api_tokens)
        .where(api_tokens.c.workshop_id == workshop_id)
        .order_by(api_tokens.c.created_at.desc(), api_tokens.c.id)
    )
    return [
        TokenRow(
            row.id,
            row.name,
            _scopes(row.scopes),
            tuple(row.origins.split()),
            row.created_by,
            row.created_at,
            row.expires_at,
            row.revoked_at,
            row.last_used_at,
            row.test,
            row.previous_until,
        )
        for row in rows
    ]


def revoke_token(connection: Connection, workshop_id: str, token_id: str, now: datetime) -> bool:
    """End a token; whether there was a live one of this workshop to end."""
    done = connection.execute(
        update(api_tokens)
        .where(
            api_tokens.c.id == token_id,
            api_tokens.c.workshop_id == workshop_id,
            api_tokens.c.revoked_at.is_(None),
        )
        .values(revoked_at=now)
    )
    return done.rowcount == 1
