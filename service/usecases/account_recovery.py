"""Who gets in from the machine's own command line: the first maker of a workshop, and the one who lost everything.

Whoever runs commands on the machine has its database anyway; so nothing is asked but an address, and the
record says where it came from.
"""

from __future__ import annotations

from artwork.workpiece import Allowances, Bit
from service.access import accounts, second_factor, sessions
from service.orders.actors import Role, System
from service.orders.errors import NotFoundError
from service.usecases import people, shop
from service.usecases.audit import enter_access
from service.usecases.context import Context


def found_workshop(ctx: Context, key: str, name: str, bit: Bit, *, email: str, maker: str) -> str:
    """Found a workshop with its first maker; the secret of the link with which they set a password.

    Whoever works in another workshop here keeps their password until the link is used. InvalidError, ConflictError
    "key-taken".
    """
    address, maker = people.checked(email, maker, Role.MAKER)
    now = ctx.clock.now()
    with people.writing_accounts(ctx) as connection:
        workshop = shop.enter_workshop(connection, now, key, name, usual_bit=bit, allowances=Allowances())
        row = people.enter_account(ctx, connection, workshop.id, address, name=maker, role=Role.MAKER)
        return accounts.make_password_link(connection, row, now)


def let_in(ctx: Context, email: str) -> str:
    """Let somebody in who lost password, phone and codes; the secret of the link with which they set a password.

    No second step is asked of them in any of their workshops, and their sessions end. NotFoundError.
    """
    now = ctx.clock.now()
    with ctx.store.writing() as connection:
        found = accounts.accounts_of(connection, accounts.clean_address(email) or "")
        usable = [each for each in found if each.disabled_at is None]
        if not usable:
            raise NotFoundError("account of that address, or it is shut out")
        for account in usable:
            second_factor.drop(connection, account.id)
            sessions.revoke_all_sessions(connection, account.id, now)
            what = {"what": "let in from the command line", "person": account.id}
            enter_access(ctx, connection, _here(account.workshop_id), what)
        return accounts.make_password_link(connection, usable[0].id, now)


def _here(workshop_id: str) -> System:
    return System(workshop_id, "command line")
