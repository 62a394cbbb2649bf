"""Everything that only looks."""

from __future__ import annotations

from typing import Annotated, Any, cast

import strawberry

from schema.attempt import attempt
from schema.context import Info
from schema.inputs import CutInput, OrderFilterInput, PlacementInput, WantedLineInput, checked, plain
from schema.outcomes import Conflict, Invalid, NotAllowed, NotFound, Stale, TooMany
from schema.paging import After, Connection, Count, First, connection_of, page_ask
from schema.preloading import asked_below, preload, read_alone
from schema.types.batches import Batch
from schema.types.by_hand import DrawingChanges
from schema.types.judged import Check
from schema.types.machine import MachineSettings
from schema.types.made import shows
from schema.types.marks import Mark
from schema.types.node import Node
from schema.types.numbers import Experience, FittedBoard, ProposalEffects, TestBoard, TestBoardSheet
from schema.types.orders import Carving, CarvingVerdict, Order, Proof
from schema.types.prices import PriceList, QuoteFor
from schema.types.shop import Model, Settings, Workshop, bit_of, model_of, workshop_settings_of
from schema.types.suites import Suite
from schema.types.upkeep import GivenUpWork, Wellness
from schema.types.versions import CarvingVersions, Cure
from schema.types.work import Entry, Job, Verification
from service.orders.actors import Actor, Helper, Maker, Role
from service.orders.errors import DomainError
from service.orders.ids import is_id
from service.orders.order import Order as Shown
from service.orders.states import OrderState
from service.rest.requests.base import value_of
from service.rest.requests.cutting import TrialAsk
from service.rest.requests.orders import OrdersQuery
from service.rest.requests.prices import QuoteForAsk
from service.rest.requests.sites import VerdictsQuery
from service.rest.responses.boards import board_body, sheet_body
from service.rest.responses.by_hand import changes_body
from service.rest.responses.machine import machine_body
from service.rest.responses.marks import mark_body
from service.rest.responses.prices import prices_body, quote_for_body
from service.rest.responses.suites import suite_body
from service.rest.responses.upkeep import wellness_body
from service.rest.responses.versions import versions_body
from service.rest.responses.work import cure_body, verification_body
from service.store.wall import within
from service.usecases import (
    by_hand,
    cutting,
    looking,
    machining,
    marking,
    outcomes,
    pricing,
    privacy_and_audit,
    producing,
    retrying,
    shop,
    suites,
    test_boards,
    verdicts,
    versions,
    wellness,
)
from service.usecases.answers import Judged, Page
from service.usecases.context import Context


@strawberry.type
class Viewer:
    """Who is asking."""

    role: Role
    name: str | None
    workshop_id: strawberry.ID


@strawberry.type
class StateCount:
    """How many orders are in one state."""

    state: OrderState
    count: int


@shows(Judged, without=("picture", "check"))
class Trial:
    """The answer to a trial, of which nothing is kept."""

    check: Check = strawberry.field(description="The whole check: findings and figures.")


TrialOutcome = Annotated[
    Trial | Stale | Invalid | NotAllowed | NotFound | Conflict | TooMany,
    strawberry.union("TrialOutcome", description="How judging a trial went."),
]


@strawberry.type
class Query:
    """Everything that only looks."""

    @strawberry.field
    async def viewer(self, info: Info) -> Viewer | None:
        """Who is asking."""
        actor = await info.context.actor()
        name = actor.name if isinstance(actor, Maker | Helper) else None
        return Viewer(role=actor.role, name=name, workshop_id=strawberry.ID(actor.workshop_id))

    @strawberry.field
    async def node(self, info: Info, id: strawberry.ID) -> Node | None:
        """Anything that has an id, by it."""
        if not is_id(id):
            return None
        graph = info.context
        for loader in (graph.orders, graph.carvings, graph.proofs, graph.artworks, graph.readings):
            found: Node | None = await loader.load(id)
            if found is not None:
                return found
        return None

    @strawberry.field
    async def workshop(self, info: Info, key: str) -> Workshop | None:
        """A workshop as anyone sees it, by its public key; asked for without credentials too."""
        graph = info.context
        try:
            actor = await graph.actor(key)
            found, models = await graph.in_thread(
                lambda ctx: within(
                    actor.workshop_id, lambda: (shop.find_workshop(ctx, key), shop.list_models(ctx, actor))
                )()
            )
        except DomainError:
            return None
        return Workshop(
            key=found.key,
            name=found.name,
            place=found.place,
            phone=found.phone,
            email=found.email,
            finishes=[terms.finish for terms in found.finishes],
            units=found.units,
            models=[model_of(model) for model in models],
        )

    @strawberry.field
    async def order(self, info: Info, id: strawberry.ID) -> Order | None:
        """An order by id."""
        found: Order | None = await info.context.orders.load(id)
        return found

    @strawberry.field
    async def orders(
        self,
        info: Info,
        first: First = 50,
        after: After = None,
        filter: OrderFilterInput | None = None,
        count: Count = False,
    ) -> Connection[Order] | None:
        """The orders you may see, newest first unless asked otherwise."""
        wanted = filter or OrderFilterInput()
        graph, asked = info.context, asked_below(info._raw_info, "edges", "node")

        def listed(ctx: Context, actor: Actor) -> Page[Shown]:
            which, part = checked(OrdersQuery, wanted).wanted, page_ask(first, after, count=count)
            page = looking.list_orders(ctx, actor, which, part, only=read_alone(Shown, asked))
            preload(graph, ctx, actor, info._raw_info, page.items, "edges", "node")
            return page

        return cast("Connection[Order]", connection_of(await graph.look(listed), after))

    @strawberry.field
    async def order_counts(self, info: Info) -> list[StateCount] | None:
        """How many orders are in each state."""
        counts = await info.context.look(looking.count_states)
        return [StateCount(state=OrderState(state), count=count) for state, count in counts.items()]

    @strawberry.field
    async def carving(self, info: Info, id: strawberry.ID) -> Carving | None:
        """A carving by id."""
        found: Carving | None = await info.context.carvings.load(id)
        return found

    @strawberry.field
    async def proof(self, info: Info, id: strawberry.ID) -> Proof | None:
        """A proof by id."""
        found: Proof | None = await info.context.proofs.load(id)
        return found

    @strawberry.field
    async def cures(self, info: Info, carving_id: strawberry.ID) -> list[Cure] | None:
        """What would make a carving carve, best first; each has passed the full check."""
        found = await info.context.look(versions.list_cures, carving_id)
        return cast("list[Cure]", [cure_body(cure) for cure in found])

    @strawberry.field
    async def versions(self, info: Info, carving_id: strawberry.ID) -> CarvingVersions:
        """Versions of a carving's drawing that carve, the least visible change first."""
        found = await info.context.look(versions.list_versions, carving_id)
        return cast("CarvingVersions", versions_body(found))

    @strawberry.field
    async def drawing_changes(
        self, info: Info, carving_id: strawberry.ID, x: float | None = None, y: float | None = None
    ) -> DrawingChanges:
        """What is different from what was sent, place by place; with x and y (slat mm) what is there as well."""
        found = await info.context.look(by_hand.look_at_changes, carving_id, x, y)
        return cast("DrawingChanges", changes_body(found))

    @strawberry.field
    async def trial(
        self,
        info: Info,
        carving_id: strawberry.ID,
        placement: PlacementInput | None = None,
        cut: CutInput | None = None,
        largest: Annotated[
            bool,
            strawberry.argument(
                description="Lay it as large as fits, turned and mirrored as it would be without this."
            ),
        ] = False,
    ) -> TrialOutcome:
        """Judge a cut at once, keeping nothing."""
        given: dict[str, Any] = {
            "placement": plain(placement),
            "change": plain(cut) or {},
            "largest": largest,
        }
        done = await attempt(
            info.context,
            lambda ctx, actor: cutting.try_cut(ctx, actor, carving_id, checked(TrialAsk, given).value()),
        )
        if isinstance(done, Judged):
            shown: Any = {
                name: getattr(done, name) for name in ("digest", "placement", "verdict", "sentence", "check")
            }
            return Trial(**shown)
        return done

    @strawberry.field
    async def job(self, info: Info, id: strawberry.ID) -> Job | None:
        """One piece of background work."""
        return cast("Job | None", await _or_none(info, looking.get_job, id))

    @strawberry.field
    async def wellness(self, info: Info) -> Wellness | None:
        """Whether everything is well: work, mail, room, backups."""
        return cast("Wellness", wellness_body(await info.context.look(wellness.list_signs)))

    @strawberry.field
    async def given_up_work(self, info: Info) -> list[GivenUpWork] | None:
        """Work that was given up, newest first, at most 100."""
        return cast("list[GivenUpWork]", list(await info.context.look(retrying.list_given_up)))

    @strawberry.field
    async def batch(self, info: Info, id: strawberry.ID) -> Batch | None:
        """A batch by id."""
        return cast("Batch | None", await _or_none(info, producing.get_batch, id))

    @strawberry.field
    async def batches(
        self, info: Info, first: First = 50, after: After = None, count: Count = False
    ) -> Connection[Batch] | None:
        """The workshop's batches, newest first."""
        page = await info.context.look(producing.list_batches, page_ask(first, after, count=count))
        return cast("Connection[Batch]", connection_of(page, after))

    @strawberry.field
    async def models(self, info: Info) -> list[Model] | None:
        """Your workshop's models."""
        return [model_of(model) for model in await info.context.look(shop.list_models)]

    @strawberry.field
    async def settings(self, info: Info) -> Settings | None:
        """All settings of your workshop."""
        found = await info.context.look(shop.get_settings)
        return Settings(
            workshop=workshop_settings_of(found.workshop),
            models=[model_of(model) for model in found.models],
            bits=[bit_of(bit) for bit in found.bits],
        )

    @strawberry.field
    async def suite(self, info: Info, id: strawberry.ID) -> Suite | None:
        """A run of texts, or a large picture, by id."""
        found = await _or_none(info, suites.get_suite, id)
        return None if found is None else cast("Suite", suite_body(found))

    @strawberry.field
    async def machine(self, info: Info) -> MachineSettings | None:
        """What drawings, sheets and plans are made for."""
        return cast("MachineSettings", machine_body(await info.context.look(machining.get_machine)))

    @strawberry.field
    async def marks(self, info: Info) -> list[Mark] | None:
        """Every version of the workshop's own marks, newest first within each slat."""
        found = await info.context.look(marking.list_marks)
        return cast("list[Mark]", [mark_body(each) for each in found])

    @strawberry.field
    async def test_boards(self, info: Info) -> list[TestBoard] | None:
        """The workshop's test boards, newest first: those accepted are the evidence of its allowances."""
        found = await info.context.look(test_boards.list_test_boards)
        return cast("list[TestBoard]", [board_body(board) for board in found])

    @strawberry.field
    async def test_board(self, info: Info, id: strawberry.ID) -> TestBoardSheet | None:
        """A test board with every reading that can be taken of it."""
        found = await info.context.look(test_boards.get_test_board, id)
        return cast("TestBoardSheet", sheet_body(found))

    @strawberry.field
    async def test_board_fit(self, info: Info, id: strawberry.ID) -> FittedBoard | None:
        """The shop's figures from a test board, each with its interval, and what they speak for."""
        return cast("FittedBoard", await info.context.look(test_boards.fit_test_board, id))

    @strawberry.field
    async def test_board_effects(self, info: Info, id: strawberry.ID) -> ProposalEffects | None:
        """What a test board's proposal would change for what was refused and signed lately."""
        return cast("ProposalEffects", await info.context.look(test_boards.weigh_test_board, id))

    @strawberry.field
    async def experience(self, info: Info) -> Experience | None:
        """What all outcomes of the workshop say, group by group, and its factor of times."""
        return cast("Experience", await info.context.look(outcomes.get_experience))

    @strawberry.field
    async def prices(self, info: Info) -> PriceList | None:
        """The price list that holds now."""
        return cast("PriceList", prices_body(await info.context.look(pricing.get_prices)))

    @strawberry.field
    async def quote_for(self, info: Info, lines: list[WantedLineInput]) -> QuoteFor | None:
        """What something would cost by the price list that holds now."""
        found = await info.context.look(
            lambda ctx, actor: pricing.quote_for(
                ctx, actor, value_of(checked(QuoteForAsk, {"lines": lines}).lines)
            )
        )
        return cast("QuoteFor", quote_for_body(found))

    @strawberry.field
    async def verdicts(
        self,
        info: Info,
        orders: list[strawberry.ID] | None = None,
        carvings: list[strawberry.ID] | None = None,
    ) -> list[CarvingVerdict] | None:
        """The verdicts of these carvings, and of all carvings of these orders: at most 100 names together."""
        wanted = {"order": orders or [], "carving": carvings or []}

        def told(ctx: Context, actor: Actor) -> tuple[verdicts.CarvingVerdict, ...]:
            asked = checked(VerdictsQuery, wanted)
            return verdicts.list_verdicts(ctx, actor, asked.order, asked.carving)

        found = await info.context.look(told)
        return cast("list[CarvingVerdict]", list(found))

    @strawberry.field
    async def price_lists(self, info: Info) -> list[PriceList] | None:
        """Every price list there was, newest first."""
        found = await info.context.look(pricing.list_prices)
        return cast("list[PriceList]", [prices_body(each) for each in found])

    @strawberry.field
    async def record(
        self, info: Info, first: First = 50, after: After = None, count: Count = False
    ) -> Connection[Entry] | None:
        """The workshop's record, newest first."""
        page = await info.context.look(privacy_and_audit.list_record, page_ask(first, after, count=count))
        return cast("Connection[Entry]", connection_of(page, after))

    @strawberry.field
    async def record_verification(self, info: Info) -> Verification | None:
        """Re-check the whole chain of the record."""
        fault = await info.context.look(privacy_and_audit.verify_record)
        signed = await info.context.look(privacy_and_audit.take_checkpoint)
        return cast("Verification", verification_body(fault, signed))


async def _or_none(info: Info, work: Any, id: str) -> Any:
    try:
        return await info.context.run(work, id)
    except DomainError:
        return None
