"""Who is asking, the people of a workshop, their sessions, sites' tokens and clients' links, as JSON."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from service.access.links import LinkRow
from service.access.sessions import SessionRow
from service.access.tokens import NewToken, TokenRow
from service.orders.actors import Helper, Maker, Role, Scope
from service.rest.operation import Call
from service.usecases.people import Person


@dataclass(frozen=True)
class MeBody:
    """Who is asking, by what was sent. `orders` are those whose links this browser has opened."""

    role: Role
    name: str | None
    email: str | None
    workshop_id: str
    account_id: str | None
    order_id: str | None
    scopes: tuple[Scope, ...]
    orders: tuple[str, ...]


@dataclass(frozen=True)
class PersonBody:
    """Somebody of the workshop."""

    id: str
    name: str
    email: str
    role: Role
    disabled: bool
    has_password: bool


@dataclass(frozen=True)
class PeopleBody:
    """The people of the workshop, by name."""

    items: tuple[PersonBody, ...]


@dataclass(frozen=True)
class SessionBody:
    """Where you are signed in."""

    id: str
    created_at: datetime
    last_seen_at: datetime
    address: str
    agent: str
    current: bool


@dataclass(frozen=True)
class SessionsBody:
    """Where you are signed in, latest first."""

    items: tuple[SessionBody, ...]


@dataclass(frozen=True)
class TokenBody:
    """A site's token; its secret is not kept."""

    id: str
    name: str
    scopes: tuple[Scope, ...]
    created_by: str
    created_at: datetime
    expires_at: datetime | None
    revoked_at: datetime | None
    last_used_at: datetime | None


@dataclass(frozen=True)
class TokensBody:
    """The tokens of the workshop's sites."""

    items: tuple[TokenBody, ...]


@dataclass(frozen=True)
class NewTokenBody:
    """A token just made; `secret` is shown this once."""

    id: str
    secret: str


@dataclass(frozen=True)
class LinkBody:
    """A client's link; its secret is not kept."""

    id: str
    created_at: datetime
    expires_at: datetime
    revoked_at: datetime | None
    last_used_at: datetime | None


@dataclass(frozen=True)
class LinksBody:
    """The links of an order, newest first."""

    items: tuple[LinkBody, ...]


@dataclass(frozen=True)
class OpenedBody:
    """The order that a link has opened for this browser."""

    order_id: str


@dataclass(frozen=True)
class OwnerBody:
    """Whose password a link sets."""

    name: str
    email: str


def me_body(call: Call) -> MeBody:
    """From the request itself."""
    actor = call.actor
    named = isinstance(actor, Maker | Helper)
    return MeBody(
        role=actor.role,
        name=actor.name if isinstance(actor, Maker | Helper) else None,
        email=call.resolved.email if named else None,
        workshop_id=actor.workshop_id,
        account_id=getattr(actor, "account_id", None),
        order_id=getattr(actor, "order_id", None),
        scopes=tuple(sorted(getattr(actor, "scopes", ()))),
        orders=call.resolved.orders,
    )


def person_body(person: Person) -> PersonBody:
    """From a person."""
    return PersonBody(person.id, person.name, person.email, person.role, person.disabled, person.has_password)


def session_body(session: SessionRow, current: str | None) -> SessionBody:
    """From a session; ``current`` is the one that asks."""
    return SessionBody(
        session.id,
        session.created_at,
        session.last_seen_at,
        session.address,
        session.agent,
        session.id == current,
    )


def token_body(token: TokenRow) -> TokenBody:
    """From a token's row."""
    return TokenBody(
        id=token.id,
        name=token.name,
        scopes=tuple(sorted(token.scopes)),
        created_by=token.created_by,
        created_at=token.created_at,
        expires_at=token.expires_at,
        revoked_at=token.revoked_at,
        last_used_at=token.last_used_at,
    )


def new_token_body(token: NewToken) -> NewTokenBody:
    """From a token just made."""
    return NewTokenBody(token.id, token.secret)


def link_body(link: LinkRow) -> LinkBody:
    """From a link's row."""
    return LinkBody(link.id, link.created_at, link.expires_at, link.revoked_at, link.last_used_at)
