"""Sessions, people, tokens and links, as JSON."""

from __future__ import annotations

from dataclasses import dataclass

from service.access.links import LinkRow
from service.access.sessions import SessionRow
from service.access.tokens import TokenRow, TokenUse
from service.orders.actors import Role, Scope
from service.rest.responses.base import shown, shows
from service.rest.responses.shop import WorkshopBody
from service.usecases.own_workshops import OwnWorkshop
from service.usecases.people import Person


@dataclass(frozen=True)
class SessionBody:
    """Who the request comes from; `orders` are those this browser's client links open.

    `second_step_due`: signed in, but all that is open until a second step is set up is setting it up.

    Attributes:
        several: told as a session begins: you work in other workshops too.
    """

    role: Role
    name: str
    email: str
    workshop: WorkshopBody | None
    order_id: str | None
    orders: tuple[str, ...]
    second_step_due: bool = False
    several: bool = False


@dataclass(frozen=True)
class OpenedLinkBody:
    """The order that a client's link opens."""

    order_id: str


@shows(SessionRow)
class SessionRowBody:
    """One place where you are signed in; `current` is this one."""

    current: bool


@shows(OwnWorkshop)
class OwnWorkshopBody:
    """A workshop that you work in."""


@dataclass(frozen=True)
class OwnWorkshopsBody:
    """The workshops that you work in, by name."""

    items: tuple[OwnWorkshopBody, ...]


@dataclass(frozen=True)
class SessionsBody:
    """Where you are signed in, latest first."""

    items: tuple[SessionRowBody, ...]


@shows(Person)
class PersonBody:
    """Somebody of the workshop."""


@dataclass(frozen=True)
class PeopleBody:
    """The people of the workshop by name."""

    items: tuple[PersonBody, ...]


@dataclass(frozen=True)
class WhoseBody:
    """Whose password a link may set."""

    name: str
    email: str


@shows(TokenRow, without=("created_by",))
class TokenBody:
    """A site's token; its secret is shown when it is made, this once."""

    scopes: tuple[Scope, ...]


@dataclass(frozen=True)
class FramingSitesBody:
    """The origins whose pages may show the workshop's form in a frame."""

    items: tuple[str, ...]


@dataclass(frozen=True)
class TokensBody:
    """The tokens of the workshop's sites, newest first."""

    items: tuple[TokenBody, ...]


@shows(TokenUse)
class TokenUseBody:
    """How much a token was used on one day."""


@dataclass(frozen=True)
class TokenUsesBody:
    """The days on which a token was used, latest first, at most 90."""

    items: tuple[TokenUseBody, ...]


@dataclass(frozen=True)
class NewTokenBody:
    """A token just made; send `secret` as `Authorization: Bearer …`."""

    id: str
    secret: str


@shows(LinkRow)
class LinkBody:
    """A client's link; its secret is known to the client alone."""


@dataclass(frozen=True)
class LinksBody:
    """The links of an order, newest first."""

    items: tuple[LinkBody, ...]


@dataclass(frozen=True)
class RevokedBody:
    """How many links were good until now."""

    revoked: int


def person_body(person: Person) -> PersonBody:
    """From the use cases' person."""
    return shown(PersonBody, person)


def own_workshop_body(found: OwnWorkshop) -> OwnWorkshopBody:
    """From one of somebody's workshops."""
    return shown(OwnWorkshopBody, found)


def session_row_body(row: SessionRow, current: str | None) -> SessionRowBody:
    """From a listed session."""
    return shown(SessionRowBody, row, current=row.id == current)


def token_body(row: TokenRow) -> TokenBody:
    """From a listed token."""
    return shown(TokenBody, row, scopes=tuple(sorted(row.scopes)))


def token_use_body(use: TokenUse) -> TokenUseBody:
    """From a day of a token."""
    return shown(TokenUseBody, use)


def link_body(row: LinkRow) -> LinkBody:
    """From a listed link."""
    return shown(LinkBody, row)
