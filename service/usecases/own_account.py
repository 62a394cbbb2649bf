"""One's own account: where it is signed in, and its password. What others could misuse asks for it once more."""

from __future__ import annotations

import logging

from service.access import accounts, passwords, rate_limit, sessions
from service.access.accounts import Account
from service.access.sessions import SessionRow
from service.orders.actors import Actor, Helper, Maker
from service.orders.errors import FieldError, InvalidError, NotAllowedError, NotFoundError
from service.store import wall
from service.usecases.context import Context
from service.usecases.signing_in import hash_or_wait, verify_or_wait

log = logging.getLogger("slatproof.access")


def list_my_sessions(ctx: Context, actor: Actor) -> tuple[SessionRow, ...]:
    """Where the person asking is signed in. NotAllowedError."""
    me = need_account(actor)
    with ctx.store.reading() as connection:
        return tuple(sessions.list_sessions(connection, me.account_id, ctx.clock.now()))


def end_my_sessions(
    ctx: Context, actor: Actor, password: str, session_id: str | None, *, here: str | None
) -> int:
    """End one of one's own sessions, or all but the one asked from (``here``); how many ended.

    NotAllowedError, InvalidError, NotFoundError, TooManyError.
    """
    me = need_account(actor)
    prove(ctx, me, password)
    now = ctx.clock.now()
    with ctx.store.writing() as connection:
        if session_id is None:
            return sessions.revoke_all_sessions(connection, me.account_id, now, but=here)
        if not sessions.revoke_session(connection, me.account_id, session_id, now):
            raise NotFoundError("session")
    return 1


def change_my_password(ctx: Context, actor: Actor, password: str, new: str, *, here: str | None) -> None:
    """Another password for one's account; every session but the one asked from (``here``) ends.

    NotAllowedError, InvalidError, TooManyError.
    """
    me = need_account(actor)
    account = prove(ctx, me, password)
    problem = passwords.problem_with(new, account.email, account.name, ctx.breached)
    if problem:
        raise InvalidError(FieldError("new_password", "weak-password", problem))
    hashed = hash_or_wait(new)
    with wall.serving(""), ctx.store.writing() as connection:  # it is that of their other workshops too
        accounts.set_password(connection, account.id, hashed, ctx.clock.now(), but=here)
    log.info("password changed: account %s", account.id)


def prove(ctx: Context, me: Maker | Helper, password: str) -> Account:
    """The password once more: what lets somebody in is not changed by whoever finds the browser open.

    InvalidError, TooManyError.
    """
    count_proof(ctx, me)
    with ctx.store.reading() as connection:
        account = accounts.get_account(connection, me.workshop_id, me.account_id)
    if account is None:
        raise NotFoundError("person")
    if not verify_or_wait(account.password_hash, password):
        raise InvalidError(FieldError("password", "wrong-password", "This is not your password."))
    return account


def count_proof(ctx: Context, me: Maker | Helper) -> None:
    """Count one try at proving that it is them. TooManyError."""
    with ctx.store.writing() as connection:
        rate_limit.count_or_refuse(connection, rate_limit.ONCE_MORE, me.account_id, ctx.clock.now())


def need_account(actor: Actor) -> Maker | Helper:
    """Whoever has an account to sign in with. NotAllowedError."""
    if not isinstance(actor, Maker | Helper):
        raise NotAllowedError("Only the people of the workshop sign in.")
    return actor
