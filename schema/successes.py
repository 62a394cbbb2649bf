"""What a mutation gives when it went well, by what the same operation gives at the REST door."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Annotated, Any, Union

import strawberry

from schema.context import Graph
from schema.outcomes import Conflict, Invalid, NotAllowed, NotFound, Stale, TooMany
from schema.types.batches import Batch
from schema.types.items import Item
from schema.types.machine import MachineSettings
from schema.types.marks import Mark
from schema.types.messages import OrderMessage
from schema.types.numbers import Experience, ItemOutcome, TestBoard
from schema.types.orders import Order
from schema.types.prices import PriceList
from schema.types.shop import Bit, Model, WorkshopSettings, bit_of, model_of, workshop_settings_of
from schema.types.versions import CarvingVersions
from schema.types.work import Job
from service.orders import outcomes
from service.rest.responses.boards import TestBoardBody, board_body
from service.rest.responses.items import ItemBody, ItemsBody
from service.rest.responses.machine import MachineBody, machine_body
from service.rest.responses.marks import MarkBody, mark_body
from service.rest.responses.messages import MessageBody
from service.rest.responses.orders import NewOrderBody, OrderBody
from service.rest.responses.outcomes import OutcomeBody, outcome_body
from service.rest.responses.people import RevokedBody
from service.rest.responses.prices import PricesBody, prices_body
from service.rest.responses.shop import BitBody, ModelBody, WorkshopSettingsBody
from service.rest.responses.versions import VersionsBody, versions_body
from service.rest.responses.work import BatchBody, JobBody, JobsBody

_REPLAYED = "Whether this is the answer that the key had before: nothing was done."


@strawberry.type
class OrderChanged:
    """It was done; the order as it is now."""

    order: Order


@strawberry.type
class OrderPlaced:
    """A new draft, and the secret of its client's link: it is shown this once."""

    order: Order
    link_token: str
    replayed: bool = strawberry.field(default=False, description=_REPLAYED)


@strawberry.type
class BatchTaken:
    """The batch is being put together; ask for it again until its archive is there."""

    batch: Batch
    replayed: bool = strawberry.field(default=False, description=_REPLAYED)


@strawberry.type
class LinksChanged:
    """It was done."""

    revoked: int = strawberry.field(description="How many links were good until now.")


@dataclass(frozen=True)
class Success:
    """How going well is told.

    Attributes:
        outcome: the union of it and of every refusal.
        of: makes it from what the use case gave.
    """

    outcome: Any
    of: Callable[[Graph, Any], Any]


def _success(kind: Any, name: str, words: str, of: Callable[[Graph, Any], Any]) -> Success:
    kinds = (kind, Stale, Invalid, NotAllowed, NotFound, Conflict, TooMany)
    return Success(Annotated[Union[kinds], strawberry.union(name, description=words)], of)  # noqa: UP007


def _holding(
    answer: str,
    outcome: str,
    how: str,
    held: tuple[str, Any],
    *,
    of: Callable[[Any], Any] = lambda done: done,
    says: str = "It was done.",
) -> Success:
    """An answer that holds one thing.

    Args:
        answer, says: name of its type and what that says.
        outcome, how: name of the union and what that says.
        held: field and type of what it holds.
        of: makes that of what the use case gave.
    """
    field, kind = held
    made: Any = strawberry.type(type(answer, (), {"__annotations__": {field: kind}, "__doc__": says}))
    return _success(made, outcome, how, lambda _, done: made(**{field: of(done)}))


def _changed(graph: Graph, whole: Any) -> OrderChanged:
    graph.show(whole)
    return OrderChanged(order=whole.order)


def _placed(graph: Graph, placed: Any) -> OrderPlaced:
    graph.show(placed.whole)
    graph.placed_with = placed.link_token
    return OrderPlaced(order=placed.whole.order, link_token=placed.link_token)


_LINKS = _success(
    LinksChanged,
    "LinksOutcome",
    "How a change of an order's links went.",
    lambda _, done: LinksChanged(revoked=done or 0),
)
SUCCESSES: dict[Any, Success] = {
    OrderBody: _success(OrderChanged, "OrderOutcome", "How a change of an order went.", _changed),
    NewOrderBody: _success(OrderPlaced, "PlaceOutcome", "How placing an order went.", _placed),
    BatchBody: _success(
        BatchTaken, "BatchOutcome", "How asking for a batch went.", lambda _, done: BatchTaken(batch=done)
    ),
    RevokedBody: _LINKS,
    None: _LINKS,
    WorkshopSettingsBody: _holding(
        "WorkshopSaved",
        "WorkshopOutcome",
        "How saving the workshop's settings went.",
        ("workshop", WorkshopSettings),
        of=workshop_settings_of,
    ),
    ModelBody: _holding(
        "ModelSaved", "ModelOutcome", "How saving a model went.", ("model", Model), of=model_of
    ),
    BitBody: _holding("BitSaved", "BitOutcome", "How saving a bit went.", ("bit", Bit), of=bit_of),
    MachineBody: _holding(
        "MachineSaved",
        "MachineOutcome",
        "How saving the machine's settings went.",
        ("machine", MachineSettings),
        of=machine_body,
    ),
    MessageBody: _holding(
        "MessageWritten",
        "MessageOutcome",
        "How writing a message went.",
        ("message", OrderMessage),
        says="It was written, and the other side is told.",
    ),
    MarkBody: _holding(
        "MarkChanged", "MarkOutcome", "How it went with a mark.", ("mark", Mark), of=mark_body
    ),
    PricesBody: _holding(
        "PricesSaved",
        "PricesOutcome",
        "How saving the price list went.",
        ("prices", PriceList),
        of=prices_body,
    ),
    JobsBody: _holding(
        "AllWorkRetried",
        "RetryAllOutcome",
        "How asking for all work again went.",
        ("jobs", list[Job]),
        of=list,
        says="It was asked for again; old work that nothing waits for any more is closed.",
    ),
    ItemsBody: _holding(
        "ItemsTicked",
        "TickOutcome",
        "How ticking items went.",
        ("items", list[Item]),
        of=list,
        says="It was done; the items as they are now.",
    ),
    ItemBody: _holding(
        "ItemRemade",
        "RemakeOutcome",
        "How asking for a remake went.",
        ("item", Item),
        says="It was done; the item that is made instead.",
    ),
    TestBoardBody: _holding(
        "TestBoardChanged",
        "TestBoardOutcome",
        "How it went with a test board.",
        ("board", TestBoard),
        of=board_body,
        says="It was done; the board as it is now.",
    ),
    OutcomeBody: _holding(
        "OutcomeRecorded",
        "RecordOutcomeOutcome",
        "How saying what became of an item went.",
        ("outcome", ItemOutcome),
        of=outcome_body,
    ),
    outcomes.Experience: _holding(
        "TimeFactorAccepted",
        "TimeFactorOutcome",
        "How taking a factor of times into the settings went.",
        ("experience", Experience),
        says="It was done; what the outcomes say beside the factor that holds now.",
    ),
    VersionsBody: _holding(
        "VersionsAsked",
        "VersionsOutcome",
        "How asking for versions went.",
        ("versions", CarvingVersions),
        of=versions_body,
        says="They are worked out, or are being; ask for them again until the state is `READY`.",
    ),
    JobBody: _holding(
        "WorkRetried",
        "RetryOutcome",
        "How asking for work again went.",
        ("job", Job),
        says="It was asked for again; where nothing waits for it any more, this is the old work, closed.",
    ),
}
