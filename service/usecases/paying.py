"""Whether an order is paid, as its site or the maker says; the workshop may ask for it before a release."""

from __future__ import annotations

from service.orders.actors import Actor
from service.orders.errors import InvalidError
from service.orders.limits import LONGEST_SITE_NUMBER
from service.orders.site import Payment
from service.orders.texts import text_problems
from service.usecases.answers import OrderAggregate
from service.usecases.context import Context
from service.usecases.opened import open_order


def set_payment(
    ctx: Context, actor: Actor, order_id: str, state: Payment, reference: str = ""
) -> OrderAggregate:
    """Say whether an order is paid; said again, nothing changes. NotFoundError, NotAllowedError, InvalidError.

    Nobody else says it, so no revision is asked for.
    """
    problems = tuple(text_problems("reference", reference, LONGEST_SITE_NUMBER))
    if problems:
        raise InvalidError(*problems)
    with open_order(ctx, actor, order_id, "pay") as opened:
        if (opened.order.payment, opened.order.payment_reference) != (state, reference):
            opened.move("pay", payment=state, payment_reference=reference)
        return opened.whole()
