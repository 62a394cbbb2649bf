"""Which program each carving of an order was checked with, on paper."""

from __future__ import annotations

from service.orders.actors import Actor, Role
from service.orders.errors import NotFoundError
from service.orders.program_checks import ProgramCheck
from service.store import art, machines, orders, programs, shop
from service.store.tenant_scope import TenantScope
from service.usecases.context import Context
from service.usecases.guard import need_role, reach_of


def program_sheet(ctx: Context, actor: Actor, order_id: str) -> bytes:
    """The sheet as PDF: every signed carving and the last check of today's proof. NotFoundError, NotAllowedError."""
    from service.batches.program_sheet import SheetRow
    from service.batches.program_sheet import program_sheet as drawn

    need_role(actor, "see checks of programs", Role.MAKER, Role.HELPER)
    with ctx.store.reading() as connection:
        order = orders.find_order(connection, reach_of(actor), order_id)
        if order is None:
            raise NotFoundError("order")
        reach = TenantScope(order.workshop_id, order.id)
        proofs = art.current_proofs(connection, reach, [order.id])
        checks = programs.checks_of_order(connection, reach)
        machine = machines.machine_of_release(connection, reach)
        name = shop.read_settings(connection, order.workshop_id).workshop.name
    last: dict[str, ProgramCheck] = {}
    for check in checks:  # newest first
        last.setdefault(check.digest, check)
    signed = {proof.digest: proof for proof in proofs if proof.signed_at is not None}
    rows = [SheetRow(str(p.facts["slat"]["name"]), digest, last.get(digest)) for digest, p in signed.items()]
    return drawn(machine, name, order.number, rows)
