"""What an order takes: boards, and days of work."""

from __future__ import annotations

from dataclasses import dataclass

from service.boards.order_work import order_parts, order_works
from service.boards.schedule import Schedule, schedule
from service.boards.shop import pace_of, stocks_of
from service.boards.wood_plan import WoodPlan, plan_wood, refuse_unplannable
from service.orders.actors import Actor, Role
from service.orders.errors import ConflictError, InvalidError
from service.store import machines
from service.store.shop import settings_stamp
from service.usecases.batch_sheets import words_of_impossible
from service.usecases.context import Context
from service.usecases.freezing import marks_of_order
from service.usecases.guard import need_role
from service.usecases.looking import get_order
from service.usecases.shop import get_settings

_WAIT = 10.0


@dataclass(frozen=True)
class WorkPlan:
    """What an order takes: boards, and days of work from today."""

    boards: WoodPlan
    days: Schedule


def plan_work(ctx: Context, actor: Actor, order_id: str) -> WorkPlan:
    """Boards and days an order takes, begun today; makers and helpers. NotFoundError, NotAllowedError, ConflictError.

    The workshop's own marks take machine time like any carving.

    ConflictError "model-retired": a part of the order is not among the workshop's models any more; "no-board": a part
    does not come out of the boards of the workshop's settings, for its thickness or its size.
    """
    need_role(actor, "plan the work", Role.MAKER, Role.HELPER)
    # The stamp is read before the settings: what is kept under it is never of older ones.
    with ctx.store.reading() as connection:
        stamp = settings_stamp(connection, actor.workshop_id)
        machine, revision = machines.read_machine(connection, actor.workshop_id)
    whole, settings = get_order(ctx, actor, order_id), get_settings(ctx, actor)
    marked = marks_of_order(ctx, whole)
    own = [(each.line, float(each.mark.check["figures"]["minutes"])) for each in marked]
    try:
        parts = order_parts(whole.lines, settings)
        pace = pace_of(machine)
    except KeyError:
        raise ConflictError("model-retired", "The workshop no longer makes a part of this order.") from None
    stocks = stocks_of(machine)
    try:
        refuse_unplannable(
            [part.wanted for part in parts], [stock for stock, _ in stocks]
        )  # here: what a process raises besides refusals is a fault of ours
    except InvalidError as impossible:
        raise ConflictError("no-board", words_of_impossible(impossible)) from None
    pieces = tuple((line.position, line.model_key, line.quantity) for line in whole.lines)
    of_what = ("boards", actor.workshop_id, stamp, revision, pieces)
    boards: WoodPlan | None = ctx.kept.get(of_what)
    if boards is None:
        boards = ctx.compute.run(plan_wood, parts, stocks, wait=_WAIT)
        ctx.kept.put(of_what, boards)
    works = order_works(
        whole.lines, whole.carvings, whole.proofs, settings, pace, boards=len(boards.boards), own_marks=own
    )
    today = ctx.clock.now().date()
    return WorkPlan(boards, schedule(works, pace, today, whole.order.needed_by))
