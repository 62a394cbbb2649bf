"""Suites asked for, looked at and dropped: runs of names, and pictures over several slats."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import asdict, dataclass, replace
from typing import Any

from artwork.cut import Placement
from artwork.errors import EngineError
from artwork.lettering.field import Field
from artwork.lettering.fitting import FitRule
from artwork.lettering.roster import Roster, from_csv, typed
from service.orders.actors import Actor
from service.orders.artworks import ReadingState
from service.orders.cuts import placement_problems
from service.orders.errors import ConflictError, FieldError, InvalidError, NotFoundError
from service.orders.ids import new_id
from service.orders.order import Carving, Line
from service.orders.states import CarvingState, carving_after
from service.orders.suites import Part, Suite, SuiteKind, WholeSuite
from service.orders.work import Job, JobKind
from service.store import art, orders, suites
from service.usecases.answers import OrderAggregate
from service.usecases.context import Context
from service.usecases.guard import reach_of
from service.usecases.lines import blank_carving, drop_carvings, prove_anew
from service.usecases.opened import OpenOrder, open_order
from service.usecases.suite_decisions import find_whole_suite, read_whole_suites

MOST_NAMES = 500
"""Texts of one run: each is a carving of its own, with its proof."""


@dataclass(frozen=True)
class NamesContent:
    """A run of texts as asked for: a typed list, or a table.

    Attributes:
        texts: typed, one a line; empty where there is a table.
        table: a CSV file's bytes.
        columns: headings of the columns carved, one line each; none: the first.
        headed: the table's first row holds headings.
        rule: how texts are fitted.
        place: where on the slat; ``None`` for the roomiest place.
        turn_deg: direction of reading where no place is given.
    """

    line_id: str
    slat_key: str
    rule: Mapping[str, Any]
    texts: str = ""
    table: bytes = b""
    columns: tuple[str, ...] = ()
    headed: bool = True
    place: Field | None = None
    turn_deg: float = 0.0


@dataclass(frozen=True)
class AcrossContent:
    """A picture over several slats as asked for.

    Attributes:
        reading_id: of one of the order's files, read already.
        slats: that it may run over.
        placement: in the piece's frame, mm; ``None`` for as large as fits.
        without_slivers: leave out what the slats' edges cut too thin.
    """

    line_id: str
    reading_id: str
    slats: tuple[str, ...]
    placement: Placement | None = None
    without_slivers: bool = False


def list_suites(ctx: Context, actor: Actor, order_id: str) -> tuple[WholeSuite, ...]:
    """The suites of an order, oldest first. NotFoundError."""
    reach = reach_of(actor)
    with ctx.store.reading() as connection:
        if orders.find_order(connection, reach, order_id) is None:
            raise NotFoundError("order")
        return read_whole_suites(connection, reach, order_id)


def get_suite(ctx: Context, actor: Actor, suite_id: str) -> WholeSuite:
    """One suite. NotFoundError."""
    with ctx.store.reading() as connection:
        return find_whole_suite(connection, reach_of(actor), suite_id)


def set_names(
    ctx: Context, actor: Actor, order_id: str, expected_revision: int, content: NamesContent
) -> OrderAggregate:
    """Carve a text of its own on every piece of a line; as many texts, so many pieces.

    The slat's art, or its list before, makes way. NotFoundError, NotAllowedError, InvalidError, StaleError,
    ConflictError.
    """
    rule = _rule(content)
    roster = _roster(content)
    with open_order(ctx, actor, order_id, "amend", expected_revision) as opened:
        line = _line(opened, content.line_id)
        _carries(opened, line, (content.slat_key,))
        count = len(roster.entries)
        opened.move("amend")
        _clear(opened, line, (content.slat_key,))
        line = _recount(opened, line, count)
        state = carving_after("give-art", CarvingState.NO_ART, actor.role, opened.order.state)
        carvings = [
            replace(blank_carving(line, content.slat_key, piece), state=state)
            for piece in range(1, count + 1)
        ]
        wanted = {
            "slats": [content.slat_key],
            "rule": asdict(rule),
            "field": None if content.place is None else asdict(content.place),
            "turn_deg": content.turn_deg,
        }
        problems = (
            *(f"Row {p.row}: {p.message}" for p in roster.problems),
            *(r.message for r in roster.remarks),
        )
        suite = _suite(opened, line, SuiteKind.NAMES, wanted, problems)
        parts = [
            Part(carving.id, suite.id, place, entry.row, entry.text)
            for place, (carving, entry) in enumerate(zip(carvings, roster.entries, strict=True), 1)
        ]
        _begin(opened, suite, carvings, parts)
        return opened.whole()


def lay_across(
    ctx: Context, actor: Actor, order_id: str, expected_revision: int, content: AcrossContent
) -> OrderAggregate:
    """Lay one picture over several slats of a line; its slices are made, shown and signed as one.

    What the slats carried makes way. NotFoundError, NotAllowedError, InvalidError, StaleError, ConflictError.
    """
    if content.placement is not None and (problems := tuple(placement_problems(content.placement))):
        raise InvalidError(*problems)
    if len(set(content.slats)) != len(content.slats) or len(content.slats) < 2:
        raise InvalidError(FieldError("slats", "count", "Name at least two slats, each once."))
    with open_order(ctx, actor, order_id, "amend", expected_revision) as opened:
        line = _line(opened, content.line_id)
        _carries(opened, line, content.slats)
        found = art.readings_by_ids(opened.connection, opened.reach, [content.reading_id])
        if not found:
            raise NotFoundError("reading")
        if found[0].state is not ReadingState.READ:
            raise ConflictError("no-outline", "This file is not read yet. Wait a moment, or send another.")
        opened.move("amend")
        _clear(opened, line, content.slats)
        state = carving_after("give-art", CarvingState.NO_ART, actor.role, opened.order.state)
        carvings = [
            replace(blank_carving(line, key), state=state, artwork_id=found[0].artwork_id)
            for key in content.slats
        ]
        wanted = {
            "slats": list(content.slats),
            "reading": content.reading_id,
            "placement": None if content.placement is None else asdict(content.placement),
            "without_slivers": content.without_slivers,
        }
        suite = _suite(opened, line, SuiteKind.ACROSS, wanted)
        parts = [Part(carving.id, suite.id, place) for place, carving in enumerate(carvings, 1)]
        _begin(opened, suite, carvings, parts)
        return opened.whole()


def check_suite(ctx: Context, actor: Actor, suite_id: str, expected_revision: int) -> OrderAggregate:
    """Make and judge all of it again under today's settings.

    NotFoundError, NotAllowedError, StaleError, ConflictError.
    """
    order_id = get_suite(ctx, actor, suite_id).suite.order_id
    with open_order(ctx, actor, order_id, "change", expected_revision) as opened:
        make_anew(opened, find_whole_suite(opened.connection, opened.reach, suite_id))
        return opened.whole()


def make_anew(opened: OpenOrder, whole: WholeSuite) -> Job:
    """Ask for all of a suite to be made and judged again. NotAllowedError, ConflictError."""
    for carving in whole.carvings:
        changes = {"proof_id": None, "verdict": None, "trouble": None}
        opened.move_carving(opened.carving(carving.id), "change", **changes)
    suite = replace(whole.suite, revision=whole.suite.revision + 1)
    suites.update_suite(opened.connection, suite)
    return opened.ask(JobKind.SUITE, suite.id, revision=suite.revision)


def drop_suite(ctx: Context, actor: Actor, suite_id: str, expected_revision: int) -> OrderAggregate:
    """Take the list or picture off; its slats are blank again.

    NotFoundError, NotAllowedError, StaleError, ConflictError.
    """
    order_id = get_suite(ctx, actor, suite_id).suite.order_id
    with open_order(ctx, actor, order_id, "amend", expected_revision) as opened:
        found = find_whole_suite(opened.connection, opened.reach, suite_id)
        opened.move("amend")
        line = opened.lines[found.suite.line_id]
        keys = tuple(found.suite.wanted["slats"])
        _clear(opened, line, keys)
        orders.insert_carvings(
            opened.connection, opened.order.workshop_id, [blank_carving(line, key) for key in keys]
        )
        opened.forget_read()
        return opened.whole()


def _rule(content: NamesContent) -> FitRule:
    try:
        return FitRule(**content.rule)
    except EngineError as refusal:
        raise _invalid("rule", refusal) from None


def _roster(content: NamesContent) -> Roster:
    try:
        if content.table:
            roster = from_csv(content.table, content.columns, headed=content.headed)
        else:
            roster = typed(content.texts)
    except EngineError as refusal:
        raise _invalid("table" if content.table else "texts", refusal) from None
    if not 1 <= len(roster.entries) <= MOST_NAMES:
        told = " ".join(f"Row {problem.row}: {problem.message}" for problem in roster.problems[:3])
        raise InvalidError(
            FieldError(
                "texts", "count", f"Give 1 to {MOST_NAMES} texts; split a longer list over two lines. {told}"
            )
        )
    return roster


def _invalid(where: str, refusal: EngineError) -> InvalidError:
    return InvalidError(FieldError(where, refusal.code, f"{refusal.message} {refusal.cure}"))


def _line(opened: OpenOrder, line_id: str) -> Line:
    if line_id not in opened.lines:
        raise NotFoundError("line")
    return opened.lines[line_id]


def _carries(opened: OpenOrder, line: Line, keys: Sequence[str]) -> None:
    """That the model has these slats and they carry art. InvalidError."""
    model = opened.settings.model(line.model_key)
    has = [] if model is None else [each.slat.key for each in model.layout.slats if each.carries_art]
    for key in keys:
        if key not in has:
            message = f"“{key}” carries no art; the slats that do: {', '.join(has)}."
            raise InvalidError(FieldError("slats", "unknown", message))


def _clear(opened: OpenOrder, line: Line, keys: Sequence[str]) -> None:
    """Take everything off these slats of a line; a suite that loses a part is gone as a whole."""
    here = [c for c in opened.carvings.values() if c.line_id == line.id and c.slat_key in keys]
    ids = {carving.id for carving in here}
    parts = suites.parts_of_orders(opened.connection, opened.reach, [opened.order.id])
    doomed = {part.suite_id for part in parts if part.carving_id in ids}
    ids |= {part.carving_id for part in parts if part.suite_id in doomed}
    for carving_id in ids:
        carving_after("give-art", opened.carvings[carving_id].state, opened.actor.role, opened.order.state)
    for suite_id in doomed:
        suites.delete_suite(opened.connection, suite_id)
    drop_carvings(opened, [opened.carvings[carving_id] for carving_id in sorted(ids)])


def _recount(opened: OpenOrder, line: Line, count: int) -> Line:
    """The line with as many pieces as there are texts; what else it carries is proved anew."""
    if count == line.quantity:
        return line
    others = [
        suite
        for suite in suites.suites_of_orders(opened.connection, opened.reach, [opened.order.id])
        if suite.line_id == line.id and suite.kind is SuiteKind.NAMES
    ]
    if others:
        raise InvalidError(
            FieldError(
                "texts",
                "other-count",
                f"Another list on this line has {line.quantity} texts and this one {count}: "
                "give every piece its text in both.",
            )
        )
    after = replace(line, quantity=count)
    orders.update_line(opened.connection, after)
    prove_anew(opened, [c for c in opened.carvings.values() if c.line_id == line.id])
    opened.lines[line.id] = after
    return after


def _suite(
    opened: OpenOrder, line: Line, kind: SuiteKind, wanted: Mapping[str, Any], problems: tuple[str, ...] = ()
) -> Suite:
    order = opened.order
    return Suite(new_id(), order.workshop_id, order.id, line.id, kind, 1, wanted, {}, problems, opened.now)


def _begin(opened: OpenOrder, suite: Suite, carvings: Sequence[Carving], parts: Sequence[Part]) -> None:
    orders.insert_carvings(opened.connection, opened.order.workshop_id, carvings)
    suites.insert_suite(opened.connection, suite, parts)
    opened.forget_read()
    opened.ask(JobKind.SUITE, suite.id, revision=suite.revision)
