"""Orders, lines, carvings, artwork, readings, proofs, findings."""

from __future__ import annotations

from inspect import isawaitable
from typing import Annotated, Any, cast

import strawberry

from schema.context import Info
from schema.preloading import proof_loader
from schema.reading import loaded
from schema.types.enums import ENUMS
from schema.types.items import Item
from schema.types.judged import (
    AllowanceOverrides,
    Check,
    Facts,
    Finding,
    PictureFrame,
    ReadingReport,
    maybe,
)
from schema.types.machine import WorkPlan
from schema.types.made import shows
from schema.types.marks import OrderMark
from schema.types.messages import OrderMessage
from schema.types.node import API, Node
from schema.types.numbers import ItemOutcome
from schema.types.prices import OrderQuote
from schema.types.programs import ProgramCheck
from schema.types.suites import Suite
from schema.types.versions import ChosenVersion  # noqa: F401 - makes it known
from schema.types.work import Entry, Job
from service.orders import artworks as art
from service.orders import order as orders
from service.orders import proofs, site
from service.orders.choices import DrawingForm
from service.rest.responses.judged import picture_frame
from service.rest.responses.machine import work_plan_body
from service.rest.responses.marks import order_mark_body
from service.rest.responses.prices import order_quote_body
from service.rest.responses.suites import suite_body
from service.usecases import (
    items,
    messages,
    outcomes,
    planning,
    pricing,
    program_checking,
    suites,
    verdicts,
)

_Form: Any = ENUMS[DrawingForm]
_SVG: Any = _Form("svg")
REVISION = "Give it back as `expectedRevision`."


@shows(orders.Contact)
class Contact:
    """Whom to reach about an order; empty once erased."""


@shows(site.SiteValue)
class SiteValue:
    """One value that a site keeps with an order."""


@shows(site.SiteTerms)
class SiteTerms:
    """What a shop's own site says of an order."""


@shows(verdicts.CarvingVerdict)
class CarvingVerdict:
    """Where one carving stands, in short."""


@shows(orders.Trouble)
class Trouble:
    """Why artwork or a carving could not be taken further."""


@shows(art.Artwork, without=("order_id",))
class Artwork(Node):
    """One file of an order, kept byte for byte."""

    @strawberry.field
    def original_url(self: Any) -> str:
        """Gives it back as an attachment."""
        return f"{API}/artworks/{self.id}/original"


@shows(
    art.StoredReading,
    without=("artwork_id", "order_id", "outline", "picture", "report"),
)
class Reading(Node):
    """What was read from a file under one set of wishes."""

    @strawberry.field
    def report(self: Any) -> ReadingReport | None:
        """What was found and done in reading it; null until read."""
        found: ReadingReport | None = maybe(art.ReadingReport, self.report)
        return found

    @strawberry.field
    def picture_url(self: Any) -> str | None:
        """A PNG of what was read."""
        return f"{API}/readings/{self.id}/picture" if self.picture else None

    @strawberry.field
    async def artwork(self: Any, info: Info) -> Artwork | None:
        """The file it was read from."""
        found: Artwork | None = await info.context.artworks.load(self.artwork_id)
        return found


@shows(
    proofs.Proof,
    without=("order_id", "carving_id", "basis", "outline", "check", "facts"),
    picture="SHA-256 of the preview that people are shown.",
    remarks="To be accepted by name; those that begin with `file-` are in words in `facts.fileRemarks`.",
)
class Proof(Node):
    """One judged cut. A decision names its digest and its picture."""

    @strawberry.field
    def check(self: Any) -> Check:
        """The whole check: findings and figures."""
        shown: Check = self.check
        return shown

    @strawberry.field
    def facts(self: Any) -> Facts:
        """All that decides the cut, without the outline's geometry."""
        shown: Facts = self.facts
        return shown

    @strawberry.field
    def findings(self: Any) -> list[Finding]:
        """Those that stop first."""
        found: list[Finding] = list(self.check["findings"])
        return found

    @strawberry.field
    def picture_frame(self: Any) -> PictureFrame:
        """Of the picture that people sign, unless it is one piece of a list; see `getProofView` for others."""
        return cast("PictureFrame", picture_frame(self.facts))

    @strawberry.field
    async def carving(self: Any, info: Info) -> Annotated[Carving, strawberry.lazy("schema.types.orders")]:
        """The carving it is a proof of."""
        found: Carving = await info.context.carvings.load(self.carving_id)
        return found

    @strawberry.field
    def picture_url(self: Any) -> str:
        """The preview that people sign."""
        return f"{API}/proofs/{self.id}/picture"

    @strawberry.field
    def drawing_url(
        self: Any,
        form: Annotated[_Form, strawberry.argument(description="Of which format.")] = _SVG,
    ) -> str:
        """The placed art at true size."""
        return f"{API}/proofs/{self.id}/drawing.{form.value}"


@shows(
    orders.Carving,
    without=(
        *(
            "order_id",
            "line_id",
            "artwork_id",
            "reading_id",
            "outline",
            "proof_id",
            "verdict",
            "kept",
            "allowances",
        ),
    ),
    revision=REVISION,
)
class Carving(Node):
    """The art on one slat of every piece of a line, or of one piece of it."""

    allowances: AllowanceOverrides = strawberry.field(  # type: ignore[valid-type]
        description="Set for this carving alone, over the slat's and the workshop's."
    )

    @strawberry.field
    async def order(self: Any, info: Info) -> Annotated[Order, strawberry.lazy("schema.types.orders")]:
        """The order it is part of."""
        found: Order = await info.context.orders.load(self.order_id)
        return found

    @strawberry.field
    @loaded("artworks", "artwork_id")
    def artwork(self: Any, info: Info) -> Artwork | None:
        """The file that is used."""
        found: Artwork | None = info.context.get("artworks", self.artwork_id) if self.artwork_id else None
        return found

    @strawberry.field
    @loaded("readings", "reading_id")
    def reading(self: Any, info: Info) -> Reading | None:
        """The reading of it that is used."""
        found: Reading | None = info.context.get("readings", self.reading_id) if self.reading_id else None
        return found

    @strawberry.field
    @loaded("", "proof_id")
    def proof(self: Any, info: Info) -> Proof | None:
        """The current proof."""
        if not self.proof_id:
            return None
        loader = proof_loader(info.context, info._raw_info)
        found: Proof | None = info.context.get(loader, self.proof_id)
        return found

    @strawberry.field
    async def proofs(self: Any, info: Info) -> list[Proof]:
        """Every proof it ever had, newest first."""
        found: list[Proof] = await info.context.proofs_of_carving.load(self.id)
        return found


@shows(orders.Line, without=("order_id",))
class Line:
    """So many pieces of one furniture model."""

    @strawberry.field
    async def carvings(self: Any, info: Info) -> list[Carving]:
        """What is carved on them."""
        found = info.context.get("carvings_of_order", self.order_id)
        if isawaitable(found):
            found = await found
        return [carving for carving in found if carving.line_id == self.id]


@shows(orders.Order, without=("workshop_id",), revision=REVISION)
class Order(Node):
    """One client's order."""

    @strawberry.field
    @loaded("lines", "id")
    def lines(self: Any, info: Info) -> list[Line]:
        """What is ordered."""
        found: list[Line] = info.context.get("lines", self.id)
        return found

    @strawberry.field
    @loaded("carvings_of_order", "id")
    def carvings(self: Any, info: Info) -> list[Carving]:
        """What is carved, over all lines."""
        found: list[Carving] = info.context.get("carvings_of_order", self.id)
        return found

    @strawberry.field
    @loaded("artworks_of_order", "id")
    def artworks(self: Any, info: Info) -> list[Artwork]:
        """The files of the order."""
        found: list[Artwork] = info.context.get("artworks_of_order", self.id)
        return found

    @strawberry.field
    async def jobs(self: Any, info: Info) -> list[Job] | None:
        """The background work, newest first."""
        found: list[Job] = await info.context.jobs_of_order.load(self.id)
        return found

    @strawberry.field
    async def decisions(self: Any, info: Info) -> list[Entry] | None:
        """What was decided, oldest first."""
        found: list[Entry] = await info.context.decisions_of_order.load(self.id)
        return found

    @strawberry.field
    async def messages(self: Any, info: Info) -> list[OrderMessage]:
        """What client and workshop wrote to each other, oldest first."""
        found = await info.context.look(messages.list_messages, self.id)
        return cast("list[OrderMessage]", list(found))

    @strawberry.field
    async def work(self: Any, info: Info) -> WorkPlan | None:
        """Boards and days it takes, begun today; for the workshop's people. Null where there is no plan."""
        return cast("WorkPlan", work_plan_body(await info.context.look(planning.plan_work, self.id)))

    @strawberry.field
    async def marks(self: Any, info: Info) -> list[OrderMark] | None:
        """The workshop's own marks on it, as released or as it would be today; for the workshop's people."""
        found = await info.context.marks_of_order.load(self.id)
        return cast("list[OrderMark]", [order_mark_body(each) for each in found])

    @strawberry.field
    async def program_checks(self: Any, info: Info) -> list[ProgramCheck]:
        """Every check of its machine programs, newest first; for the workshop's people."""
        found = await info.context.look(program_checking.list_program_checks, self.id)
        return cast("list[ProgramCheck]", list(found))

    @strawberry.field
    async def items(self: Any, info: Info) -> list[Item] | None:
        """Every slat of every piece, once it is released, and how far each is; for the workshop's people."""
        found = await info.context.look(items.list_items, self.id)
        return cast("list[Item]", list(found))

    @strawberry.field
    async def outcomes(self: Any, info: Info) -> list[ItemOutcome] | None:
        """How its items came out, beside what was predicted; for the workshop's people."""
        found = await info.context.look(outcomes.list_outcomes, self.id)
        return cast("list[ItemOutcome]", list(found))

    @strawberry.field
    def export_url(self: Any) -> str:
        """Everything held about it as JSON, files by digest; for whoever may export."""
        return f"{API}/orders/{self.id}/export"

    @strawberry.field
    async def suites(self: Any, info: Info) -> list[Suite] | None:
        """Its runs of texts and large pictures, oldest first."""
        found = await info.context.look(suites.list_suites, self.id)
        return cast("list[Suite]", [suite_body(each) for each in found])

    @strawberry.field
    async def quote(self: Any, info: Info) -> OrderQuote | None:
        """What it costs as it stands now; null with an error beside it where that cannot be worked out."""
        found = await info.context.look(pricing.get_quote, self.id)
        return cast("OrderQuote", order_quote_body(found))
