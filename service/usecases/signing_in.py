"""Coming in and going out: sign-in, passwords, and the links of clients.

Passwords are hashed and compared outside of transactions: 140 ms would keep every other writer waiting.
"""

from __future__ import annotations

import logging
from dataclasses import dataclass

from sqlalchemy import Connection, select

from service.access import accounts, links, passwords, rate_limit, second_factor, sessions
from service.access.accounts import Account, clean_address
from service.access.networks import network_of
from service.access.sessions import Visitor
from service.mail.outbox import put_message
from service.orders.actors import Actor
from service.orders.errors import ConflictError, FieldError, InvalidError, NotFoundError, TooManyError
from service.orders.ids import new_id
from service.store import orders, shop, wall
from service.store.access_tables import sessions as session_rows
from service.usecases.context import Context

_BUSY_SECONDS = 5.0
log = logging.getLogger("slatproof.access")


@dataclass(frozen=True)
class SignedIn:
    """A session just begun.

    Attributes:
        secret: for the cookie; known here and now only.
        second_step_due: all it opens until a second step is set up is setting it up.
        several: the person has other workshops too, and was in this one last.
    """

    secret: str
    account: Account
    second_step_due: bool = False
    several: bool = False


@dataclass(frozen=True)
class OpenedLink:
    """A client's link just opened.

    Attributes:
        secret: of the browser's new client session, for the cookie.
    """

    secret: str
    order_id: str


def sign_in(ctx: Context, visitor: Visitor, email: str, password: str, code: str = "") -> SignedIn:
    """Begin a session of an account.

    TooManyError, ConflictError "wrong-password" (also for no such account), "code-needed", "wrong-code".
    """
    with wall.serving(""):  # a person's workshops are looked for in all of them
        return _sign_in(ctx, visitor, clean_address(email) or "", password, code)


def _sign_in(ctx: Context, visitor: Visitor, address: str, password: str, code: str) -> SignedIn:
    now = ctx.clock.now()
    with ctx.store.writing() as connection:
        found = accounts.accounts_of(connection, address)
        _count_sign_in(ctx, connection, visitor, address, found[0] if found else None)
    open_to = [each for each in found if each.disabled_at is None]
    usable = open_to[0] if open_to else None
    # who was let into a further workshop has set no password there
    known = next((each.password_hash for each in open_to if each.password_hash), None)
    if not verify_or_wait(known, password) or usable is None:
        log.warning("sign-in refused: account %s", found[0].id if found else "none")
        raise ConflictError(
            "wrong-password", "The address or the password is not right. Check both and try again."
        )
    check_second_step(ctx, usable, code)
    renewed = hash_or_wait(password) if passwords.is_outdated(known or "") else None
    shared = any(each.password_hash != known for each in open_to)
    with ctx.store.writing() as connection:
        for subject in (_from_network(visitor, address), _from_browser(visitor, address)):
            rate_limit.forgive(connection, rate_limit.SIGN_IN_PAIR, subject)
        if visitor.browser:
            rate_limit.remember_browser(connection, visitor.browser, usable.id, now)
        if renewed or (shared and known):
            accounts.replace_hash(connection, usable.id, renewed or known or "")
        secret = sessions.open_account_session(connection, usable.id, visitor, now)
        begun = sessions.find_account_session(connection, secret, now)
    log.info("signed in: account %s", usable.id)
    due = begun is not None and begun.lacks_second_step(ctx.second_step_required)
    return SignedIn(secret, usable, due, len(open_to) > 1)


def check_second_step(ctx: Context, account: Account, code: str) -> None:
    """The code, where the account asks for one; wrong ones are counted as wrong passwords are."""
    with ctx.store.writing() as connection:
        if not second_factor.is_on(connection, account.id):
            return
        right = bool(code.strip()) and second_factor.accept(connection, account.id, code, ctx.clock.now())
    if right:
        return
    if not code.strip():
        raise ConflictError("code-needed", "This account asks for a code as well. Take it from your app.")
    log.warning("sign-in refused: second step of account %s", account.id)
    raise ConflictError("wrong-code", "The code is not right, or it was used already. Wait for the next one.")


def sign_out(ctx: Context, secret: str) -> None:
    """End the session of that cookie; no error where there is none."""
    with ctx.store.writing() as connection:
        sessions.end_session(connection, secret, ctx.clock.now())


def ask_for_password(ctx: Context, visitor: Visitor, email: str) -> None:
    """Mail a link to set a new password, if there is such an account; the answer never tells. TooManyError."""
    now = ctx.clock.now()
    address = clean_address(email) or ""
    with ctx.store.writing() as connection:
        _count_new_link(ctx, connection, visitor)
        found = accounts.accounts_of(connection, address)
        account = next((each for each in found if each.disabled_at is None), None)
        if account is None:
            return
        if rate_limit.count_attempt(connection, rate_limit.NEW_PASSWORD_ACCOUNT, account.id, now) is not None:
            return  # mailed already; saying so would tell that the account exists
        put_message(
            connection, f"password:{new_id()}", now, "password", {},
            workshop_id=account.workshop_id, audience="account", account_id=account.id,
        )  # fmt: skip


def whose_password(ctx: Context, secret: str) -> Account:
    """Whose password a link may set. NotFoundError."""
    with ctx.store.reading() as connection:
        account = accounts.find_password_link(connection, secret, ctx.clock.now())
    if account is None:
        raise NotFoundError("link, or it was used already")
    return account


def choose_password(ctx: Context, secret: str, password: str) -> None:
    """Set the password a link is for; every session of the account ends. NotFoundError, InvalidError, TooManyError."""
    account = whose_password(ctx, secret)
    problem = passwords.problem_with(password, account.email, account.name, ctx.breached)
    if problem:
        raise InvalidError(FieldError("password", "weak-password", problem))
    hashed = hash_or_wait(password)
    now = ctx.clock.now()
    with wall.serving(""), ctx.store.writing() as connection:
        if accounts.find_password_link(connection, secret, now) is None:  # used in the meantime
            raise NotFoundError("link, or it was used already")
        accounts.set_password(connection, account.id, hashed, now)
    log.info("password set: account %s", account.id)


def open_link(ctx: Context, visitor: Visitor, token: str, previous: str | None) -> OpenedLink:
    """Let a client's browser in by a link; ``previous`` is the client session it had, whose orders it keeps.

    NotFoundError for a wrong, expired or revoked link alike.
    """
    now = ctx.clock.now()
    with ctx.store.writing() as connection:
        grant = links.find_link(connection, token, now)
        if grant is None:
            raise NotFoundError("link, or it has expired")
        links.note_link_used(connection, grant.link_id, now)
        secret = sessions.open_client_session(connection, grant.link_id, previous, visitor, now)
    return OpenedLink(secret, grant.order_id)


def workshop_of_link(ctx: Context, token: str) -> str | None:
    """The key of the workshop that a link is of, good still or not; to send on whoever opens it in the wrong place."""
    with ctx.store.reading() as connection:
        workshop_id = links.workshop_of(connection, token)
        found = shop.find_workshop(connection, workshop_id) if workshop_id else None
    return found.key if found else None


def ask_for_link(ctx: Context, visitor: Visitor, token: str) -> None:
    """Mail a new link to the client of the order that ``token`` once opened; the answer never tells.
    TooManyError.
    """
    now = ctx.clock.now()
    with ctx.store.writing() as connection:
        _count_new_link(ctx, connection, visitor)
        grant = links.find_lapsed_link(connection, token)
        if grant is None:
            return
        if rate_limit.count_attempt(connection, rate_limit.NEW_LINK_ORDER, grant.order_id, now) is not None:
            return
        put_message(
            connection, f"link:{new_id()}", now, "link", {},
            workshop_id=grant.workshop_id, audience="client", order_id=grant.order_id,
        )  # fmt: skip


def mail_lost_links(ctx: Context, actor: Actor, email: str, number: int | None = None) -> None:
    """Mail new links to the orders that were placed here from an address; the answer never tells. TooManyError.

    Args:
        number: of the order that is meant; all that are under way where nobody knows it.
    """
    now = ctx.clock.now()
    address = clean_address(email) or ""
    with ctx.store.writing() as connection:
        network = network_of(actor.address)
        if network:
            _count(ctx, connection, rate_limit.NEW_LINK_ADDRESS, network)
        subject = f"{actor.workshop_id} {address}"
        if (
            not address
            or rate_limit.count_attempt(connection, rate_limit.LOST_LINK, subject, now) is not None
        ):
            return  # mailed already; saying so would tell that there are orders
        for order_id in orders.orders_of_address(connection, actor.workshop_id, address, number):
            put_message(
                connection, f"link:{new_id()}", now, "link", {},
                workshop_id=actor.workshop_id, audience="client", order_id=order_id,
            )  # fmt: skip


def _count(ctx: Context, connection: Connection, limit: rate_limit.Limit, subject: str) -> None:
    rate_limit.count_or_refuse(connection, limit, subject, ctx.clock.now())


def _count_new_link(ctx: Context, connection: Connection, visitor: Visitor) -> None:
    network = network_of(visitor.address)
    if network:  # else everybody behind a proxy that was not declared would wait for each other
        _count(ctx, connection, rate_limit.NEW_LINK_ADDRESS, network)


def _count_sign_in(
    ctx: Context, connection: Connection, visitor: Visitor, address: str, account: Account | None
) -> None:
    """Strangers are counted by network and by account; a browser the account knows by itself: its owner stays in."""
    now, network = ctx.clock.now(), network_of(visitor.address)
    if (
        account
        and visitor.browser
        and rate_limit.is_known_browser(connection, visitor.browser, account.id, now)
    ):
        _count(ctx, connection, rate_limit.SIGN_IN_PAIR, _from_browser(visitor, address))
        return
    if network:
        _count(ctx, connection, rate_limit.SIGN_IN_ADDRESS, network)
    _count(ctx, connection, rate_limit.SIGN_IN_PAIR, _from_network(visitor, address))
    if account is None or not network or not _was_here(connection, account.id, network):
        _count(ctx, connection, rate_limit.SIGN_IN_ACCOUNT, address)


def _from_network(visitor: Visitor, address: str) -> str:
    return f"{network_of(visitor.address)} {address}"


def _from_browser(visitor: Visitor, address: str) -> str:
    return f"browser {visitor.browser} {address}"


def _was_here(connection: Connection, account_id: str, network: str) -> bool:
    found = select(session_rows.c.address).where(session_rows.c.account_id == account_id).distinct()
    return any(network_of(address) == network for address in connection.execute(found).scalars())


def verify_or_wait(stored: str | None, password: str) -> bool:
    """Whether the password is right. TooManyError."""
    try:
        return passwords.verify_password(stored, password)
    except passwords.BusyError:
        raise TooManyError(_BUSY_SECONDS) from None


def hash_or_wait(password: str) -> str:
    """What is stored of a password. TooManyError."""
    try:
        return passwords.hash_password(password)
    except passwords.BusyError:
        raise TooManyError(_BUSY_SECONDS) from None
