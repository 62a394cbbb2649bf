"""API tokens with which a shop's own site acts for its clients."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime, timedelta

from sqlalchemy import Connection, insert, select, update

from service.access.secrets import TOKEN, digest, new_secret
from service.orders.actors import Scope
from service.orders.ids import new_id
from service.store.access_tables import api_tokens

_USED_EVERY = timedelta(minutes=5)


@dataclass(frozen=True)
class NewToken:
    """A token just made: the only moment its secret is known."""

    id: str
    secret: str


@dataclass(frozen=True)
class LiveToken:
    """A token that is neither revoked nor expired; ``stale`` says that 'last used' should be written."""

    id: str
    workshop_id: str
    scopes: frozenset[Scope]
    stale: bool


@dataclass(frozen=True)
class TokenRow:
    """A token as the workshop sees it in a list.

    Attributes:
        id: names it.
        name: what it is for.
        scopes: what it may do.
        origins: of the site's pages, from which a browser may call (RFC 6454); none: programs only.
        created_by: id of the account that made it.
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
        )
    )
    return token


def find_token(connection: Connection, secret: str, now: datetime) -> LiveToken | None:
    """The live token of ``secret``; ``None`` for a wrong, expired or revoked one alike."""
    row = connection.execute(
        select(
            api_tokens.c.id, api_tokens.c.workshop_id, api_tokens.c.scopes, api_tokens.c.last_used_at
        ).where(
            api_tokens.c.token_hash == digest(secret),
            api_tokens.c.revoked_at.is_(None),
            api_tokens.c.expires_at.is_(None) | (api_tokens.c.expires_at > now),
        )
    ).one_or_none()
    if row is None:
        return None
    stale = row.last_used_at is None or now - row.last_used_at >= _USED_EVERY
    return LiveToken(row.id, row.workshop_id, _scopes(row.scopes), stale)


def allows_origin(connection: Connection, origin: str, secret: str | None, now: datetime) -> bool:
    """Whether a browser's page of this origin may call: with a token its own origins count, else those of any."""
    live = (
        api_tokens.c.revoked_at.is_(None),
        api_tokens.c.expires_at.is_(None) | (api_tokens.c.expires_at > now),
        api_tokens.c.origins != "",
    )
    query = select(api_tokens.c.origins).where(*live)
    if secret is not None and secret.startswith(TOKEN):
        query = query.where(api_tokens.c.token_hash == digest(secret))
    return any(origin in row.split() for row in connection.scalars(query))


def note_token_used(connection: Connection, token_id: str, now: datetime) -> None:
    """Note that a token is in use."""
    connection.execute(update(api_tokens).where(api_tokens.c.id == token_id).values(last_used_at=now))


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
