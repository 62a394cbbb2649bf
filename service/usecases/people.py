"""The people of a workshop, its sites' tokens, and the links of its clients: who may come in."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Any

from sqlalchemy import Connection, select
from sqlalchemy.exc import IntegrityError

from service.access import accounts, links, passwords, second_factor, tokens
from service.access.accounts import Account, clean_address
from service.access.links import LinkRow
from service.access.tokens import NewToken, TokenRow, TokenUse
from service.mail.outbox import put_message
from service.orders.actors import Actor, Helper, Maker, Role, Scope, System
from service.orders.errors import ConflictError, FieldError, InvalidError, NotAllowedError, NotFoundError
from service.orders.ids import new_id
from service.orders.limits import LONGEST_NAME
from service.orders.workshop import Workshop
from service.store import orders as stored_orders
from service.store import shop
from service.store.tables import orders, workshops
from service.usecases.audit import enter_access
from service.usecases.context import Context
from service.usecases.guard import reach_of


@dataclass(frozen=True)
class Person:
    """Somebody of the workshop, as people see them."""

    id: str
    name: str
    email: str
    role: Role
    disabled: bool
    has_password: bool
    second_step: bool = False


def _person(account: Account, *, second_step: bool = False) -> Person:
    return Person(
        account.id,
        account.name,
        account.email,
        account.role,
        account.disabled_at is not None,
        account.password_hash is not None,
        second_step,
    )


def own_workshop(ctx: Context, workshop_id: str) -> Workshop:
    """The workshop that somebody belongs to. NotFoundError."""
    with ctx.store.reading() as connection:
        try:  # pages ask for all that it sets as well, which is then known
            return shop.read_settings(connection, workshop_id).workshop
        except LookupError:
            raise NotFoundError("workshop") from None


def list_people(ctx: Context, actor: Actor) -> tuple[Person, ...]:
    """The people of the workshop by name; makers and helpers. NotAllowedError."""
    _staff(actor)
    with ctx.store.reading() as connection:
        on = second_factor.those_with(connection, actor.workshop_id)
        found = accounts.list_accounts(connection, actor.workshop_id)
        return tuple(_person(account, second_step=account.id in on) for account in found)


def invite(ctx: Context, actor: Actor, email: str, name: str, role: Role) -> Person:
    """Add a person and mail them a link to set their password. NotAllowedError, InvalidError, Conflict
    "known-address".
    """
    maker = _maker(actor)
    address, name = checked(email, name, role)
    now = ctx.clock.now()
    with writing_accounts(ctx) as connection:
        row = accounts.add_account(connection, actor.workshop_id, address, name=name, role=role, now=now)
        enter_access(ctx, connection, actor, {"what": "invited", "person": row, "role": role.value})
        put_message(
            connection, f"invitation:{row}", now, "invitation", {"by": maker.name},
            workshop_id=actor.workshop_id, audience="account", account_id=row,
        )  # fmt: skip
    return Person(row, name, address, role, disabled=False, has_password=False)


def open_account(ctx: Context, workshop_id: str, email: str, *, name: str, role: Role, password: str) -> str:
    """Add a person with a password, for the command line of the workshop's own machine. InvalidError, ConflictError."""
    address, name = checked(email, name, role)
    problem = passwords.problem_with(password, address, name, ctx.breached)
    if problem:
        raise InvalidError(FieldError("password", "weak-password", problem))
    hashed = passwords.hash_password(password)
    with writing_accounts(ctx) as connection:
        return enter_account(
            ctx, connection, workshop_id, address, name=name, role=role, password_hash=hashed
        )


def has_password(ctx: Context, email: str, password: str) -> bool:
    """Whether that is the password of an account that can be used: for the command line, never for a door."""
    with ctx.store.reading() as connection:
        found = accounts.accounts_of(connection, email)
    hashes = {each.password_hash for each in found if each.disabled_at is None}
    return any(passwords.verify_password(each, password) for each in hashes)


def enter_account(
    ctx: Context,
    connection: Connection,
    workshop_id: str,
    address: str,
    *,
    name: str,
    role: Role,
    password_hash: str | None = None,
) -> str:
    """Add a person from the command line, in the caller's transaction, and enter it into the record; the account."""
    row = accounts.add_account(
        connection, workshop_id, address, name=name, role=role, now=ctx.clock.now(),
        password_hash=password_hash,
    )  # fmt: skip
    system = System(workshop_id, "command line")
    enter_access(ctx, connection, system, {"what": "opened an account", "person": row, "role": role.value})
    return row


@contextmanager
def writing_accounts(ctx: Context) -> Iterator[Connection]:
    """A transaction that adds a person, whose address nobody else has there. ConflictError "known-address"."""
    try:
        with ctx.store.writing() as connection:
            yield connection
    except IntegrityError as error:
        raise ConflictError(
            "known-address", "There is an account of this workshop with that address already."
        ) from error


def change_person(
    ctx: Context,
    actor: Actor,
    person_id: str,
    *,
    name: str | None = None,
    role: Role | None = None,
    disabled: bool | None = None,
) -> Person:
    """Change a person's name or role, shut them out or let them in. NotAllowedError, NotFoundError, InvalidError,
    ConflictError.
    """
    maker = _maker(actor)
    if name is not None:
        name = checked("a@b.example", name, Role.MAKER)[1]
    now = ctx.clock.now()
    with ctx.store.writing() as connection:
        account = _account(connection, actor.workshop_id, person_id)
        loses_maker = (role is not None and role is not Role.MAKER) or disabled
        if account.role is Role.MAKER and loses_maker:
            _keep_one_maker(connection, actor.workshop_id, person_id)
        if disabled and person_id == maker.account_id:
            raise ConflictError("yourself", "You cannot shut yourself out; ask another maker to.")
        accounts.change_account(connection, actor.workshop_id, person_id, name=name, role=role)
        if disabled is not None:
            accounts.set_disabled(connection, person_id, disabled, now)
        on = second_factor.is_on(connection, person_id)
        after = _person(_account(connection, actor.workshop_id, person_id), second_step=on)
        if after != _person(account, second_step=on):
            facts = {
                "person": person_id,
                "role": after.role.value,
                "shut_out": after.disabled,
                "renamed": after.name != account.name,
            }
            enter_access(ctx, connection, actor, {"what": "changed a person", **facts})
        return after


def list_site_tokens(ctx: Context, actor: Actor) -> tuple[TokenRow, ...]:
    """The tokens of the workshop's sites; makers. NotAllowedError."""
    _maker(actor)
    with ctx.store.reading() as connection:
        return tuple(tokens.list_tokens(connection, actor.workshop_id))


def make_site_token(
    ctx: Context,
    actor: Actor,
    name: str,
    scopes: frozenset[Scope],
    expires_at: datetime | None = None,
    *,
    origins: tuple[str, ...] = (),
    test: bool = False,
) -> NewToken:
    """A token for a site; its secret is shown this once. NotAllowedError, InvalidError.

    Args:
        origins: of the site's pages, from which a browser may call.
        test: it reaches tests alone.
    """
    maker = _maker(actor)
    name = name.strip()
    now = ctx.clock.now()
    problems = []
    if not 0 < len(name) <= LONGEST_NAME:
        problems.append(
            FieldError(
                "name",
                "bad-name",
                f"Name the site in 1 to {LONGEST_NAME} characters, so that you know it later.",
            )
        )
    if not scopes:
        problems.append(FieldError("scopes", "no-scope", "Choose at least one thing the site may do."))
    if expires_at is not None and expires_at <= now:
        problems.append(FieldError("expires_at", "past", "Choose a day that is still to come."))
    if problems:
        raise InvalidError(*problems)
    with ctx.store.writing() as connection:
        made = tokens.make_token(
            connection, actor.workshop_id, name, scopes,
            created_by=maker.account_id, now=now, expires_at=expires_at, origins=origins, test=test,
        )  # fmt: skip
        until = None if expires_at is None else expires_at.isoformat()
        facts: dict[str, Any] = {"token": made.id, "scopes": sorted(scopes), "until": until}
        facts |= {"origins": sorted(origins)} if origins else {}
        facts |= {"test": True} if test else {}
        enter_access(ctx, connection, actor, {"what": "made a token", **facts})
        return made


def renew_site_token(ctx: Context, actor: Actor, token_id: str, overlap_hours: int = 24) -> NewToken:
    """A new secret for a token; the one it has stays good for so many hours. NotAllowedError, NotFoundError.

    Renewed again, the secret before that is good no longer.
    """
    _maker(actor)
    with ctx.store.writing() as connection:
        overlap = timedelta(hours=overlap_hours)
        secret = tokens.renew_token(connection, actor.workshop_id, token_id, ctx.clock.now(), overlap)
        if secret is None:
            raise NotFoundError("token")
        facts = {"what": "renewed a token", "token": token_id, "overlap_hours": overlap_hours}
        enter_access(ctx, connection, actor, facts)
    return NewToken(token_id, secret)


def list_token_uses(ctx: Context, actor: Actor, token_id: str) -> tuple[TokenUse, ...]:
    """On which days a token was used, latest first; makers. NotAllowedError, NotFoundError."""
    _maker(actor)
    with ctx.store.reading() as connection:
        found = tokens.list_uses(connection, actor.workshop_id, token_id)
    if found is None:
        raise NotFoundError("token")
    return tuple(found)


def allows_origin(ctx: Context, origin: str, bearer: str | None) -> bool:
    """Whether a browser's page of this origin may call the API, by the tokens of the installation's workshops."""
    with ctx.store.reading() as connection:
        return tokens.allows_origin(connection, origin, bearer, ctx.clock.now())


def list_framing_sites(ctx: Context, actor: Actor) -> tuple[str, ...]:
    """The origins whose pages may show this workshop's form in a frame: those that its tokens name."""
    with ctx.store.reading() as connection:
        return tokens.origins_named(connection, actor.workshop_id, ctx.clock.now())


def revoke_site_token(ctx: Context, actor: Actor, token_id: str) -> None:
    """End a site's token at once. NotAllowedError, NotFoundError."""
    _maker(actor)
    with ctx.store.writing() as connection:
        if not tokens.revoke_token(connection, actor.workshop_id, token_id, ctx.clock.now()):
            raise NotFoundError("token")
        enter_access(ctx, connection, actor, {"what": "ended a token", "token": token_id})


def list_client_links(ctx: Context, actor: Actor, order_id: str) -> tuple[LinkRow, ...]:
    """The links of an order; makers and helpers. NotAllowedError, NotFoundError."""
    _staff(actor)
    with ctx.store.reading() as connection:
        if stored_orders.find_order(connection, reach_of(actor), order_id) is None:
            raise NotFoundError("order")
        return tuple(links.list_links(connection, order_id))


def mail_client_link(ctx: Context, actor: Actor, order_id: str) -> None:
    """Mail the client a new link. NotAllowedError, NotFoundError."""
    _maker(actor)
    with ctx.store.writing() as connection:
        _own_order(connection, actor, order_id)
        put_message(
            connection, f"link:{new_id()}", ctx.clock.now(), "link", {},
            workshop_id=actor.workshop_id, audience="client", order_id=order_id,
        )  # fmt: skip
        enter_access(ctx, connection, actor, {"what": "mailed a link"}, order_id)


def revoke_client_links(ctx: Context, actor: Actor, order_id: str, link_id: str | None = None) -> int:
    """Revoke one link of an order, or all; how many were good until now. NotAllowedError, NotFoundError."""
    _maker(actor)
    with ctx.store.writing() as connection:
        _own_order(connection, actor, order_id)
        count = links.revoke_links(connection, order_id, ctx.clock.now(), link_id)
        if link_id is not None and count == 0:
            raise NotFoundError("link")
        if count:
            enter_access(ctx, connection, actor, {"what": "revoked links", "count": count}, order_id)
        return count


def _staff(actor: Actor) -> Maker | Helper:
    if not isinstance(actor, Maker | Helper):
        raise NotAllowedError("Only the people of the workshop may see this.")
    return actor


def _maker(actor: Actor) -> Maker:
    if not isinstance(actor, Maker):
        raise NotAllowedError("Only a maker may do this.")
    return actor


def checked(email: str, name: str, role: Role) -> tuple[str, str]:
    """Address and name of somebody to be, in the form they are stored. InvalidError."""
    address = clean_address(email)
    name = " ".join(name.split())
    problems = []
    if address is None:
        problems.append(
            FieldError(
                "email", "bad-address", "That is not an e-mail address; it looks like name@place.example."
            )
        )
    if not 0 < len(name) <= LONGEST_NAME:
        problems.append(FieldError("name", "bad-name", f"Give a name of 1 to {LONGEST_NAME} characters."))
    if role not in accounts.STAFF:
        problems.append(FieldError("role", "bad-role", "Choose maker or helper."))
    if problems or address is None:
        raise InvalidError(*problems)
    return address, name


def _account(connection: Connection, workshop_id: str, person_id: str) -> Account:
    account = accounts.get_account(connection, workshop_id, person_id)
    if account is None:
        raise NotFoundError("person")
    return account


def _keep_one_maker(connection: Connection, workshop_id: str, leaving: str) -> None:
    # Two makers who demote each other at once follow one another here.
    connection.execute(select(workshops.c.id).where(workshops.c.id == workshop_id).with_for_update())
    others = (
        account
        for account in accounts.list_accounts(connection, workshop_id)
        if account.role is Role.MAKER and account.disabled_at is None and account.id != leaving
    )
    if next(others, None) is None:
        raise ConflictError(
            "last-maker", "The workshop needs at least one maker; make somebody else one first."
        )


def _own_order(connection: Connection, actor: Actor, order_id: str) -> None:
    found = select(orders.c.id).where(orders.c.id == order_id, orders.c.workshop_id == actor.workshop_id)
    if connection.scalar(found.with_for_update()) is None:
        raise NotFoundError("order")
