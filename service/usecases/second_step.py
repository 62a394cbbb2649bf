"""The second step when signing in: set up, taken away, by its owner or, when all is lost, by a maker."""

from __future__ import annotations

from dataclasses import dataclass

from sqlalchemy import Connection

from service.access import accounts, second_factor, sessions
from service.access.second_factor import Enrolment
from service.orders.actors import Actor, Helper, Maker
from service.orders.errors import Conflict, Invalid, NotAllowed, NotFound, Problem
from service.orders.record import EntryKind
from service.store import record
from service.usecases.context import Context
from service.usecases.entering import deed_of
from service.usecases.own_account import count_proof, need_account, prove


@dataclass(frozen=True)
class SecondStep:
    """Whether a code is asked for, and how many codes for a bad day are left."""

    on: bool
    codes_left: int


def get_second_step(ctx: Context, actor: Actor) -> SecondStep:
    """How it stands with one's own account. NotAllowed."""
    me = need_account(actor)
    with ctx.store.reading() as connection:
        on = second_factor.is_on(connection, me.account_id)
        return SecondStep(on, second_factor.codes_left(connection, me.account_id) if on else 0)


def begin_second_step(ctx: Context, actor: Actor, password: str) -> Enrolment:
    """A key for one's app; asks for nothing until confirmed. NotAllowed, Invalid, TooMany, Conflict
    "second-step-on".
    """
    me = need_account(actor)
    account = prove(ctx, me, password)
    with ctx.store.writing() as connection:
        if second_factor.is_on(connection, me.account_id):
            raise Conflict("second-step-on", "A code is asked for already. Take that away first.")
        return second_factor.begin(connection, me.account_id, account.email, ctx.clock.now())


def confirm_second_step(ctx: Context, actor: Actor, code: str) -> tuple[str, ...]:
    """The first code from the app: from now on one is asked for. The codes for a bad day, shown this once.

    NotAllowed, Invalid, TooMany.
    """
    me = need_account(actor)
    count_proof(ctx, me)
    with ctx.store.writing() as connection:
        codes = second_factor.confirm(connection, me.account_id, code, ctx.clock.now())
        if codes is not None:
            _enter(ctx, me, connection, "asks for a second step", me.account_id)
    if codes is None:
        raise _wrong_code()
    return codes


def end_second_step(ctx: Context, actor: Actor, password: str, code: str) -> None:
    """Ask for no code any more. NotAllowed, Invalid, TooMany."""
    me = need_account(actor)
    prove(ctx, me, password)
    with ctx.store.writing() as connection:
        right = second_factor.accept(connection, me.account_id, code, ctx.clock.now())
        if right:
            second_factor.drop(connection, me.account_id)
            _enter(ctx, me, connection, "asks for no second step", me.account_id)
    if not right:
        raise _wrong_code()


def drop_second_step(ctx: Context, actor: Actor, person_id: str) -> None:
    """A maker vouches for somebody who lost app and codes: no code is asked of them, and their sessions end.

    NotAllowed, NotFound, Conflict "yourself".
    """
    if not isinstance(actor, Maker):
        raise NotAllowed("Only a maker may do this.")
    if person_id == actor.account_id:
        raise Conflict("yourself", "Take your own second step away with a code, or ask another maker to.")
    with ctx.store.writing() as connection:
        account = accounts.get_account(connection, actor.workshop_id, person_id)
        if account is None:
            raise NotFound("person")
        if second_factor.drop(connection, person_id):
            sessions.revoke_all_sessions(connection, person_id, ctx.clock.now())
            _enter(ctx, actor, connection, "took a second step away", person_id)


def _wrong_code() -> Invalid:
    words = "The code is not right, or it was used already. Wait for the next one in the app."
    return Invalid(Problem("code", "wrong-code", words))


def _enter(ctx: Context, actor: Maker | Helper, connection: Connection, what: str, person_id: str) -> None:
    facts = {"what": what, "person": person_id}
    deed = deed_of(actor, EntryKind.ACCESS, ctx.clock.now(), facts=facts)
    record.append(connection, actor.workshop_id, deed)
