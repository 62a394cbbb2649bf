"""The boards of a released order, and the sheets that are made of them: beds, lists, labels."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace

from sqlalchemy import Connection

from artwork.errors import EngineError
from artwork.furniture import ModelLayout
from artwork.layout_json import layout_from_json
from service.batches.content import OrderContent
from service.batches.drawn import DrawnProof
from service.boards.cut_parts import CutLine, CutPart, cut_parts, with_shifts
from service.boards.shop import stocks_of
from service.boards.wood_plan import refuse_unplannable
from service.orders.definition import for_bench
from service.orders.errors import ConflictError, InvalidError
from service.orders.items import carvings_by_place
from service.orders.machine import Machine, machine_from
from service.orders.order import Line, Order, OrderTerms
from service.orders.units import Units
from service.orders.workshop import Settings
from service.store import art, items, machines, orders, suites
from service.store.tenant_scope import TenantScope
from service.usecases import computing
from service.usecases.batch_drawings import drawn_proof
from service.usecases.context import Context
from service.usecases.freezing import MarkedLine, frozen_marks, release_facts

SHEETS_SECONDS = 600.0
"""Longest drawing of one order's sheets: hundreds of different carvings are no fault."""
_MOST_TOLD = 3


@dataclass(frozen=True)
class Held:
    """What held when an order was released.

    Attributes:
        address: where the order is seen in a browser.
        workshop: its name.
        units: that it measures in.
        models: names by key.
        layouts: models by key.
        machine, marks: that it was released for, and with.
    """

    address: str
    workshop: str
    units: Units
    models: Mapping[str, str]
    layouts: Mapping[str, ModelLayout]
    machine: Machine
    marks: tuple[MarkedLine, ...]


def held_at_release(ctx: Context, connection: Connection, order: Order, settings: Settings) -> Held:
    """As the release froze it; orders released before that was kept are taken as things are now."""
    facts = machines.frozen(connection, TenantScope(order.workshop_id, order.id))
    if facts is None:
        machine, _ = machines.read_machine(connection, order.workshop_id)
        facts = release_facts(ctx.base_url, order.id, settings, machine)
    released = frozen_marks(connection, order.workshop_id, facts)
    machine = machine_from(facts["machine"])
    layouts = {model.layout.key: model.layout for model in settings.models}
    layouts |= {key: layout_from_json(each) for key, each in facts.get("layouts", {}).items()}
    return Held(
        facts["address"],
        facts["workshop"],
        Units(facts.get("units", Units.MM)),
        facts["models"],
        layouts,
        machine,
        released,
    )


def with_sheets(
    ctx: Context, order: OrderContent, workshop_id: str, lines: Sequence[Line], held: Held
) -> OrderContent:
    """The order with its boards, its models, what the sheets say of the plan, and the sheets. DamagedFileError."""
    lacking = sorted({line.model_key for line in lines} - set(held.layouts))
    if lacking:
        return _without(order, f"The workshop no longer makes {', '.join(lacking)}.")
    carved, proofs = carved_of(ctx, order.id, workshop_id, lines, held)
    parts = cut_parts(cut_lines(lines, held, carved))
    try:
        refuse_unplannable([part.wanted for part in parts], [stock for stock, _ in stocks_of(held.machine)])
    except InvalidError as impossible:
        return _without(order, words_of_impossible(impossible))
    boards, told = ctx.compute.run(computing.plan_boards, parts, held.machine, seconds=SHEETS_SECONDS)
    models = {line.model_key: held.layouts[line.model_key] for line in lines}
    planned = replace(order, boards=boards, models=models, plan=(f"Boards: {told}",))
    try:
        drawn = ctx.compute.run(computing.draw_order_sheets, planned, proofs, seconds=SHEETS_SECONDS)
    except EngineError as refusal:
        return _without(order, str(refusal))
    beds = sum(name.endswith(".svg") for name in drawn)
    bed = f"{held.machine.bed_width:g} × {held.machine.bed_length:g} mm"
    words = f"Bed layouts of the whole order: {beds} (bed-01 and on, SVG and DXF), on a bed of {bed}."
    sheets = {name: ctx.blobs.put(data) for name, data in drawn.items()}
    return replace(planned, sheets=sheets, plan=(*planned.plan, words))


def planned_order(
    ctx: Context, order: Order, lines: Sequence[Line], held: Held
) -> tuple[OrderContent, Mapping[str, DrawnProof]]:
    """A released order with its boards as they are cut now, shifted art in its place; proofs of it by digest.

    ConflictError "no-board", DamagedFileError.
    """
    parts, proofs = parts_now(ctx, order, lines, held)
    refuse_without_boards(parts, held.machine)
    boards, _ = ctx.compute.run(computing.plan_boards, parts, held.machine, seconds=SHEETS_SECONDS)
    content = OrderContent(
        id=order.id,
        number=order.number,
        client="",
        address=held.address,
        lines=(),
        terms=for_bench(OrderTerms, order),
        released_at=order.released_at or order.created_at,
        machine=held.machine,
        boards=boards,
        models={line.model_key: held.layouts[line.model_key] for line in lines},
    )
    return content, proofs


def parts_now(
    ctx: Context, order: Order, lines: Sequence[Line], held: Held
) -> tuple[tuple[CutPart, ...], dict[str, DrawnProof]]:
    """What a released order is cut from, shifted art in its place, and the proofs of what is carved by digest."""
    carved, proofs = carved_of(ctx, order.id, order.workshop_id, lines, held)
    return with_shifts(cut_parts(cut_lines(lines, held, carved)), shifts_of(ctx, order)), proofs


def shifts_of(ctx: Context, order: Order) -> Mapping[tuple[str, str], tuple[float, float]]:
    """How the art of single boards is shifted, slat mm, by the part's key and its proof's digest."""
    with ctx.store.reading() as connection:
        return items.shifts_of_order(connection, TenantScope(order.workshop_id, order.id))


def refuse_without_boards(parts: Sequence[CutPart], machine: Machine) -> None:
    """Refuse parts that come out of no board. ConflictError "no-board"."""
    try:
        refuse_unplannable([part.wanted for part in parts], [stock for stock, _ in stocks_of(machine)])
    except InvalidError as impossible:
        raise ConflictError("no-board", words_of_impossible(impossible)) from impossible


def words_of_impossible(impossible: InvalidError) -> str:
    """The first parts that no board gives, and how many more there are."""
    told = [problem.message for problem in impossible.problems[:_MOST_TOLD]]
    rest = len(impossible.problems) - len(told)
    return " ".join((*told, f"And so it is for {rest} more." if rest else "")).strip()


def _without(order: OrderContent, why: str) -> OrderContent:
    return replace(order, plan=(f"No bed layout: {why}",))


def carved_of(
    ctx: Context, order_id: str, workshop_id: str, lines: Sequence[Line], held: Held
) -> tuple[Mapping[tuple[int, str, int | None], tuple[str, str]], dict[str, DrawnProof]]:
    """What is carved where, and the proofs of it by digest."""
    reach, only = TenantScope(workshop_id, order_id), [order_id]
    with ctx.store.reading() as connection:
        carvings = orders.carvings_of_orders(connection, reach, only)
        current = {proof.carving_id: proof for proof in art.current_proofs(connection, reach, only)}
        texts = {part.carving_id: part.text for part in suites.parts_of_orders(connection, reach, only)}
    digests = {carving: proof.digest for carving, proof in current.items()}
    carved = carvings_by_place(lines, carvings, digests, texts)
    carved |= {(each.line, each.mark.slat_key, None): (each.mark.digest, "") for each in held.marks}
    names = {proof.digest: str(proof.facts["slat"]["name"]) for proof in current.values()}
    names |= {each.mark.digest: str(each.mark.made_of["slat"]["name"]) for each in held.marks}
    return carved, {digest: drawn_proof(ctx, digest, name) for digest, name in names.items()}


def cut_lines(
    lines: Sequence[Line], held: Held, carved: Mapping[tuple[int, str, int | None], tuple[str, str]]
) -> Iterator[CutLine]:
    """The order's lines as parts are cut for them."""
    for line in lines:
        here = {
            (slat, piece): art for (position, slat, piece), art in carved.items() if position == line.position
        }
        yield CutLine(line.position, held.layouts[line.model_key], line.quantity, here)
