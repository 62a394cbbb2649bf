"""Questions and answers on an order, by page and by mail."""

from __future__ import annotations

from service.access import rate_limit
from service.orders.actors import Actor, Helper, Maker, Role
from service.orders.errors import ConflictError, FieldError, InvalidError, NotFoundError
from service.orders.ids import new_id
from service.orders.letters import LetterKind
from service.orders.messages import LONGEST_MESSAGE, MOST_MESSAGES, OrderMessage, Side
from service.orders.texts import text_problems
from service.store import messages, orders
from service.store.tenant_scope import TenantScope
from service.usecases.context import Context
from service.usecases.guard import reach_of
from service.usecases.opened import open_order


def write_message(ctx: Context, actor: Actor, order_id: str, words: str) -> OrderMessage:
    """Write to the other side; it is told by mail.

    NotFoundError, NotAllowedError, InvalidError, TooManyError, ConflictError "erased".
    """
    words = words.strip()
    problems = list(text_problems("words", words, LONGEST_MESSAGE, lines=True))
    if not words:
        problems.append(FieldError("words", "missing", "Write your question or answer first."))
    with open_order(ctx, actor, order_id, "write") as opened:
        if problems:
            raise InvalidError(*problems)
        order = opened.order
        if order.erased_at is not None:
            raise ConflictError("erased", "This order's particulars were erased: nobody can be written to.")
        if messages.count_messages(opened.connection, order_id) >= MOST_MESSAGES:
            message = f"There are {MOST_MESSAGES} messages already. Please telephone or write a mail."
            raise InvalidError(FieldError("words", "too-many", message))
        if actor.role is Role.CLIENT:
            rate_limit.count_or_refuse(opened.connection, rate_limit.WRITTEN, order_id, opened.now)
        ours = isinstance(actor, Maker | Helper)
        said = OrderMessage(
            id=new_id(),
            order_id=order_id,
            side=Side.WORKSHOP if ours else Side.CLIENT,
            by=actor.name if isinstance(actor, Maker | Helper) else order.contact.name,
            words=words,
            at=opened.now,
        )
        messages.insert_message(opened.connection, order.workshop_id, said)
        opened.allow("write")
        opened.changed()
        opened.write(
            LetterKind.ANSWER if ours else LetterKind.QUESTION, about=said.id, words=words, by=said.by
        )
        return said


def list_messages(ctx: Context, actor: Actor, order_id: str) -> tuple[OrderMessage, ...]:
    """What was written on an order, oldest first. NotFoundError, NotAllowedError."""
    with ctx.store.reading() as connection:
        order = orders.find_order(connection, reach_of(actor), order_id)
        if order is None:
            raise NotFoundError("order")
        return tuple(messages.messages_of_order(connection, TenantScope(order.workshop_id, order_id)))
