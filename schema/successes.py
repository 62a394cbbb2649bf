"""What a mutation gives when it went well, by what the same operation gives at the REST door."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Annotated, Any, Union, cast

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


@strawberry.type
class WorkshopSaved:
    """It was done."""

    workshop: WorkshopSettings


@strawberry.type
class ModelSaved:
    """It was done."""

    model: Model


@strawberry.type
class BitSaved:
    """It was done."""

    bit: Bit


@strawberry.type
class MachineSaved:
    """It was done."""

    machine: MachineSettings


@strawberry.type
class ItemsTicked:
    """It was done; the items as they are now."""

    items: list[Item]


@strawberry.type
class ItemRemade:
    """It was done; the item that is made instead."""

    item: Item


@strawberry.type
class MessageWritten:
    """It was written, and the other side is told."""

    message: OrderMessage


@strawberry.type
class TestBoardChanged:
    """It was done; the board as it is now."""

    board: TestBoard


@strawberry.type
class OutcomeRecorded:
    """It was done."""

    outcome: ItemOutcome


@strawberry.type
class TimeFactorAccepted:
    """It was done; what the outcomes say beside the factor that holds now."""

    experience: Experience


@strawberry.type
class MarkChanged:
    """It was done."""

    mark: Mark


@strawberry.type
class PricesSaved:
    """It was done."""

    prices: PriceList


@strawberry.type
class VersionsAsked:
    """They are worked out, or are being; ask for them again until the state is `READY`."""

    versions: CarvingVersions


@strawberry.type
class WorkRetried:
    """It was asked for again; where nothing waits for it any more, this is the old work, closed."""

    job: Job


@strawberry.type
class AllWorkRetried:
    """It was asked for again; old work that nothing waits for any more is closed."""

    jobs: list[Job]


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


def _changed(graph: Graph, whole: Any) -> OrderChanged:
    graph.show(whole)
    return OrderChanged(order=whole.order)


def _placed(graph: Graph, placed: Any) -> OrderPlaced:
    graph.show(placed.whole)
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
    WorkshopSettingsBody: _success(
        WorkshopSaved,
        "WorkshopOutcome",
        "How saving the workshop's settings went.",
        lambda _, done: WorkshopSaved(workshop=workshop_settings_of(done)),
    ),
    ModelBody: _success(
        ModelSaved,
        "ModelOutcome",
        "How saving a model went.",
        lambda _, done: ModelSaved(model=model_of(done)),
    ),
    BitBody: _success(
        BitSaved, "BitOutcome", "How saving a bit went.", lambda _, done: BitSaved(bit=bit_of(done))
    ),
    MachineBody: _success(
        MachineSaved,
        "MachineOutcome",
        "How saving the machine's settings went.",
        lambda _, done: MachineSaved(machine=cast("MachineSettings", machine_body(done))),
    ),
    MessageBody: _success(
        MessageWritten,
        "MessageOutcome",
        "How writing a message went.",
        lambda _, done: MessageWritten(message=done),
    ),
    MarkBody: _success(
        MarkChanged,
        "MarkOutcome",
        "How it went with a mark.",
        lambda _, done: MarkChanged(mark=cast("Mark", mark_body(done))),
    ),
    PricesBody: _success(
        PricesSaved,
        "PricesOutcome",
        "How saving the price list went.",
        lambda _, done: PricesSaved(prices=cast("PriceList", prices_body(done))),
    ),
    JobsBody: _success(
        AllWorkRetried,
        "RetryAllOutcome",
        "How asking for all work again went.",
        lambda _, done: AllWorkRetried(jobs=list(done)),
    ),
    ItemsBody: _success(
        ItemsTicked,
        "TickOutcome",
        "How ticking items went.",
        lambda _, done: ItemsTicked(items=cast("list[Item]", list(done))),
    ),
    ItemBody: _success(
        ItemRemade, "RemakeOutcome", "How asking for a remake went.", lambda _, done: ItemRemade(item=done)
    ),
    TestBoardBody: _success(
        TestBoardChanged,
        "TestBoardOutcome",
        "How it went with a test board.",
        lambda _, done: TestBoardChanged(board=cast("TestBoard", board_body(done))),
    ),
    OutcomeBody: _success(
        OutcomeRecorded,
        "RecordOutcomeOutcome",
        "How saying what became of an item went.",
        lambda _, done: OutcomeRecorded(outcome=cast("ItemOutcome", outcome_body(done))),
    ),
    outcomes.Experience: _success(
        TimeFactorAccepted,
        "TimeFactorOutcome",
        "How taking a factor of times into the settings went.",
        lambda _, done: TimeFactorAccepted(experience=done),
    ),
    VersionsBody: _success(
        VersionsAsked,
        "VersionsOutcome",
        "How asking for versions went.",
        lambda _, done: VersionsAsked(versions=cast("CarvingVersions", versions_body(done))),
    ),
    JobBody: _success(
        WorkRetried, "RetryOutcome", "How asking for work again went.", lambda _, done: WorkRetried(job=done)
    ),
}
