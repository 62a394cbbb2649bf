"""The second step when signing in: set up, taken away, by its owner or, when all is lost, by a maker."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

from sqlalchemy import Connection

from service.access import accounts, second_factor, sessions
from service.access.second_factor import Enrolment
from service.access.sessions import Visitor
from service.orders.actors import Actor, Helper, Maker
from service.orders.errors import ConflictError, FieldError, InvalidError, NotAllowedError, NotFoundError
from service.usecases.audit import enter_access
from service.usecases.context import Context
from service.usecases.own_account import count_proof, need_account, prove


class AskedBy(StrEnum):
    """Who asks a second step of everybody."""

    NOBODY = "nobody"
    WORKSHOP = "workshop"
    INSTALLATION = "installation"


@dataclass(frozen=True)
class SecondStep:
    """Whether a code is asked for, how many codes for a bad day are left, and who asks one of everybody."""

    on: bool
    codes_left: int
    asked_by: AskedBy


def get_second_step(ctx: Context, actor: Actor) -> SecondStep:
    """How it stands with one's own account. NotAllowedError."""
    me = need_account(actor)
    with ctx.store.reading() as connection:
        return _second_step(ctx, connection, me)


def require_second_step(ctx: Context, actor: Actor, password: str, *, required: bool) -> SecondStep:
    """Ask a second step of everybody of the workshop, or leave it to them. Nobody is signed out: whoever has
    none can do nothing but set it up.

    NotAllowedError, InvalidError, TooManyError, ConflictError "second-step-off".
    """
    if not isinstance(actor, Maker):
        raise NotAllowedError("Only a maker may do this.")
    prove(ctx, actor, password)
    with ctx.store.writing() as connection:
        if required and not second_factor.is_on(connection, actor.account_id):
            raise ConflictError(
                "second-step-off", "Set up your own second step first, or you would be shut out."
            )
        if second_factor.require(connection, actor.workshop_id, required):
            what = "asks a second step of everybody" if required else "leaves the second step to each"
            enter_access(ctx, connection, actor, {"what": what, "person": actor.account_id})
        return _second_step(ctx, connection, actor)


def begin_second_step(ctx: Context, actor: Actor, password: str) -> Enrolment:
    """A key for one's app; asks for nothing until confirmed. NotAllowedError, InvalidError, TooManyError, Conflict
    "second-step-on".
    """
    me = need_account(actor)
    account = prove(ctx, me, password)
    with ctx.store.writing() as connection:
        if second_factor.is_on(connection, me.account_id):
            raise ConflictError("second-step-on", "A code is asked for already. Take that away first.")
        return second_factor.begin(connection, me.account_id, account.email, ctx.clock.now())


def confirm_second_step(ctx: Context, actor: Actor, code: str) -> tuple[str, ...]:
    """The first code from the app: from now on one is asked for. The codes for a bad day, shown this once.

    NotAllowedError, InvalidError, TooManyError.
    """
    me = need_account(actor)
    count_proof(ctx, me)
    with ctx.store.writing() as connection:
        codes = second_factor.confirm(connection, me.account_id, code, ctx.clock.now())
        if codes is not None:
            enter_access(ctx, connection, me, {"what": "asks for a second step", "person": me.account_id})
    if codes is None:
        raise _wrong_code()
    return codes


def go_on_with_second_step(ctx: Context, actor: Actor, visitor: Visitor, session: str) -> str:
    """Another secret for a session that opens more than before; its old one opens nothing. NotAllowedError."""
    me = need_account(actor)
    now = ctx.clock.now()
    with ctx.store.writing() as connection:
        sessions.end_session(connection, session, now)
        return sessions.open_account_session(connection, me.account_id, visitor, now)


def end_second_step(ctx: Context, actor: Actor, password: str, code: str) -> None:
    """Ask for no code any more; where one is asked of everybody, all that is open then is setting it up anew.

    NotAllowedError, InvalidError, TooManyError.
    """
    me = need_account(actor)
    prove(ctx, me, password)
    with ctx.store.writing() as connection:
        right = second_factor.accept(connection, me.account_id, code, ctx.clock.now())
        if right:
            second_factor.drop(connection, me.account_id)
            enter_access(ctx, connection, me, {"what": "asks for no second step", "person": me.account_id})
    if not right:
        raise _wrong_code()


def drop_second_step(ctx: Context, actor: Actor, person_id: str) -> None:
    """A maker vouches for somebody who lost app and codes: no code is asked of them, and their sessions end.

    NotAllowedError, NotFoundError, ConflictError "yourself".
    """
    if not isinstance(actor, Maker):
        raise NotAllowedError("Only a maker may do this.")
    if person_id == actor.account_id:
        raise ConflictError(
            "yourself", "Take your own second step away with a code, or ask another maker to."
        )
    with ctx.store.writing() as connection:
        account = accounts.get_account(connection, actor.workshop_id, person_id)
        if account is None:
            raise NotFoundError("person")
        if second_factor.drop(connection, person_id):
            sessions.revoke_all_sessions(connection, person_id, ctx.clock.now())
            enter_access(ctx, connection, actor, {"what": "took a second step away", "person": person_id})


def _second_step(ctx: Context, connection: Connection, me: Maker | Helper) -> SecondStep:
    on = second_factor.is_on(connection, me.account_id)
    left = second_factor.codes_left(connection, me.account_id) if on else 0
    asked_by = AskedBy.NOBODY
    if ctx.second_step_required:
        asked_by = AskedBy.INSTALLATION
    elif second_factor.is_required(connection, me.workshop_id):
        asked_by = AskedBy.WORKSHOP
    return SecondStep(on, left, asked_by)


def _wrong_code() -> InvalidError:
    words = "The code is not right, or it was used already. Wait for the next one in the app."
    return InvalidError(FieldError("code", "wrong-code", words))
