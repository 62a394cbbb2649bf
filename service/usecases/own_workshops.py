"""The workshops of one person, who signs in once and goes from one to the other.

Each has an account of its own for them, with its role and its second step; what they share is address and password.
So nothing of one workshop is seen from another: the two verbs here alone look over the wall, at one's own accounts.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from sqlalchemy import Connection

from service.access import accounts, rate_limit, sessions
from service.access.accounts import Account
from service.access.sessions import Visitor
from service.orders.actors import Actor, Role
from service.orders.errors import NotFoundError
from service.store import shop, wall
from service.usecases.context import Context
from service.usecases.own_account import need_account
from service.usecases.signing_in import SignedIn, check_second_step


@dataclass(frozen=True)
class OwnWorkshop:
    """A workshop that somebody may work in.

    Attributes:
        key: its public key.
        role: what they are there.
        here: the one that is asked from.
    """

    key: str
    name: str
    role: Role
    here: bool


def list_my_workshops(ctx: Context, actor: Actor) -> tuple[OwnWorkshop, ...]:
    """The workshops one may work in, by name. NotAllowedError."""
    me = need_account(actor)
    with wall.serving(""), ctx.store.reading() as connection:
        found = []
        for account in _mine(connection, me.workshop_id, me.account_id):
            workshop = shop.find_workshop(connection, account.workshop_id)
            if workshop is not None:
                here = account.id == me.account_id
                found.append(OwnWorkshop(workshop.key, workshop.name, account.role, here))
    return tuple(sorted(found, key=lambda each: each.name))


def go_to_workshop(
    ctx: Context, actor: Actor, visitor: Visitor, session: str, *, key: str, code: str = ""
) -> SignedIn:
    """End this session and begin one in another of one's workshops; a code where that one asks for it.

    NotAllowedError, NotFoundError, TooManyError, ConflictError "code-needed", "wrong-code".
    """
    me = need_account(actor)
    now = ctx.clock.now()
    with wall.serving(""):
        with ctx.store.writing() as connection:
            if code.strip():
                rate_limit.count_or_refuse(connection, rate_limit.ONCE_MORE, me.account_id, now)
            workshop = shop.find_workshop_by_key(connection, key)
            mine = _mine(connection, me.workshop_id, me.account_id)
        account = next((each for each in mine if workshop and each.workshop_id == workshop.id), None)
        if account is None:
            raise NotFoundError("workshop of yours")
        check_second_step(ctx, account, code)
        with ctx.store.writing() as connection:
            sessions.end_session(connection, session, now)
            secret = sessions.open_account_session(connection, account.id, visitor, now)
            begun = sessions.find_account_session(connection, secret, now)
    due = begun is not None and begun.lacks_second_step(ctx.second_step_required)
    return SignedIn(secret, account, due, several=True)


def _mine(connection: Connection, workshop_id: str, account_id: str) -> Sequence[Account]:
    """One's accounts that can be used."""
    own = accounts.get_account(connection, workshop_id, account_id)
    found = accounts.accounts_of(connection, own.email) if own else ()
    return [each for each in found if each.disabled_at is None]
