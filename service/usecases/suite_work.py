"""The background work on a suite: every part made and judged, then all of it stored at once."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from contextlib import contextmanager
from dataclasses import dataclass, replace
from typing import Any

from artwork.across import Tools
from artwork.errors import EngineError
from service.orders.actors import System
from service.orders.cuts import Circumstances, basis_of, circumstances
from service.orders.errors import ConflictError, NotFoundError
from service.orders.order import Carving, Line, Trouble
from service.orders.states import CarvingState
from service.orders.suites import Part, SuiteKind, WholeSuite
from service.orders.work import JobKind
from service.orders.workshop import Settings
from service.store import art, orders, shop, suites
from service.store.tenant_scope import TenantScope
from service.usecases import computing_suites
from service.usecases.blob_refs import add_blob_refs, put_all
from service.usecases.computing_suites import JudgedPart
from service.usecases.context import Context
from service.usecases.lines import drop_carvings
from service.usecases.opened import OpenOrder, open_order
from service.usecases.progress import Progress
from service.usecases.proving import OPEN, Proved, store_proof, trouble_of
from service.usecases.suite_decisions import find_whole_suite

_AT_ONCE = 20
"""Texts judged between two words about how far it is."""
_WAITING = frozenset({CarvingState.READING, CarvingState.CHECKING})
_NOTHING_HERE = Trouble("beside-slats", "Nothing of the picture falls on this slat.", "Choose other slats.")


def make_suite(ctx: Context, payload: Mapping[str, Any], progress: Progress) -> None:
    """Make and judge every part, and store all of it; dropped where something else was asked for meanwhile."""
    hand = _in_hand(ctx, payload)
    if hand is None:
        return
    try:
        made = (_names if hand.whole.suite.kind is SuiteKind.NAMES else _across)(ctx, hand, progress)
    except (EngineError, ConflictError) as error:
        _refuse_all(ctx, payload, trouble_of(error))
        return
    progress.say("keeping", 0.95)
    _keep(ctx, payload, hand, made)


def waiting_parts(opened: OpenOrder, suite_id: str) -> list[Carving]:
    """The carvings of a suite that go no further until it is made."""
    parts = suites.parts_of_orders(opened.connection, opened.reach, [opened.order.id])
    mine = {part.carving_id for part in parts if part.suite_id == suite_id}
    return [each for each in opened.carvings.values() if each.id in mine and each.state in _WAITING]


@dataclass(frozen=True)
class _Hand:
    """A suite that waits to be made, as things stood when work on it began."""

    whole: WholeSuite
    line: Line
    settings: Settings
    picture: str | None


@dataclass(frozen=True)
class _Done:
    """What came of it: one for each part of the suite; ``wanted`` with everything decided."""

    parts: Sequence[JudgedPart | None]
    wanted: Mapping[str, Any]
    made: Mapping[str, Any]


def _in_hand(ctx: Context, payload: Mapping[str, Any]) -> _Hand | None:
    reach = TenantScope(payload["workshop"])
    with ctx.store.reading() as connection:
        suite = suites.find_suite(connection, reach, payload["subject"])
        if suite is None or suite.revision != payload["revision"]:
            return None
        whole = find_whole_suite(connection, reach, suite.id)
        if not whole.carvings or not all(carving.state in _WAITING for carving in whole.carvings):
            return None
        lines = orders.lines_of_orders(connection, reach, [suite.order_id])
        line = next(line for line in lines if line.id == suite.line_id)
        settings = shop.read_settings(connection, payload["workshop"])
        picture = None
        if suite.kind is SuiteKind.ACROSS:
            found = art.readings_by_ids(connection, reach, [suite.wanted["reading"]])
            picture = found[0].outline if found else None
    return _Hand(whole, line, settings, picture)


def _names(ctx: Context, hand: _Hand, progress: Progress) -> _Done:
    at = circumstances(hand.whole.carvings[0], hand.line, hand.settings)
    wanted = dict(hand.whole.suite.wanted)
    if wanted["field"] is None:
        wanted["field"] = ctx.compute.run(computing_suites.field_for, at, wanted["turn_deg"])
    rows = [(part.place, part.row, part.text) for part in hand.whole.parts]
    judged: list[JudgedPart | None] = []
    calls = ((wanted, at, rows[first : first + _AT_ONCE]) for first in range(0, len(rows), _AT_ONCE))
    for found in ctx.compute.run_each(computing_suites.judge_names, calls):
        judged += found
        progress.say(f"lettering, {len(judged)} of {len(rows)} done", 0.05 + 0.85 * len(judged) / len(rows))
    return _Done(judged, wanted, {})


def _across(ctx: Context, hand: _Hand, progress: Progress) -> _Done:
    model = hand.settings.model(hand.line.model_key)
    if model is None or hand.picture is None:
        raise ConflictError("slat-gone", "The workshop no longer makes this model. Choose another one.")
    places = {
        carving.slat_key: circumstances(carving, hand.line, hand.settings) for carving in hand.whole.carvings
    }
    first = next(iter(places.values()))
    tools = Tools(first.bit, first.allowances, {key: at.allowances for key, at in places.items()})
    progress.say("cutting by slat", 0.2)
    wanted = dict(hand.whole.suite.wanted)
    as_finished = tuple(
        replace(placed, slat=replace(placed.slat, finish=first.slat.finish)) for placed in model.layout.slats
    )
    layout = replace(model.layout, slats=as_finished)
    cut = ctx.compute.run(computing_suites.cut_across, ctx.blobs.get(hand.picture), layout, wanted, tools)
    by_key = {each.key: each for each in cut.slices}
    parts = [by_key.get(carving.slat_key) for carving in hand.whole.carvings]
    made = {"placement": dict(vars(cut.placement)), "notes": list(cut.notes)}
    return _Done(parts, wanted, made)


def _keep(ctx: Context, payload: Mapping[str, Any], hand: _Hand, done: _Done) -> None:
    # before the transaction: reaching the disk with hundreds of files takes a while, and others want to write
    kept = put_all(ctx, _files(done.parts))
    with _waiting(ctx, payload) as (opened, whole):
        if whole is None:
            return
        line = opened.lines[whole.suite.line_id]
        places = [circumstances(carving, line, opened.settings) for carving in whole.carvings]
        before = [circumstances(carving, hand.line, hand.settings) for carving in whole.carvings]
        if {*map(basis_of, _different(places))} != {*map(basis_of, _different(before))}:
            opened.ask(JobKind.SUITE, whole.suite.id, revision=whole.suite.revision)
            return
        for carving, part, at, judged in zip(whole.carvings, whole.parts, places, done.parts, strict=True):
            told = replace(part, notes=judged.notes if judged else ())
            _keep_part(
                opened, carving, told, at, judged, kept=kept, reading=whole.suite.wanted.get("reading")
            )
        suites.update_suite(opened.connection, replace(whole.suite, wanted=done.wanted, made=done.made))


def _different(places: Sequence[Circumstances]) -> list[Circumstances]:
    """Each once: all pieces of a run have the same."""
    found: list[Circumstances] = []
    for at in places:
        if at not in found:
            found.append(at)
    return found


def _files(parts: Sequence[JudgedPart | None]) -> Iterator[bytes]:
    for part in parts:
        if part is not None and part.judged is not None:
            yield from (part.outline, part.judged.facts, part.judged.picture)


def _keep_part(
    opened: OpenOrder,
    carving: Carving,
    part: Part,
    at: Circumstances,
    made: JudgedPart | None,
    *,
    kept: Mapping[bytes, str],
    reading: str | None,
) -> None:
    """One part of a suite; ``kept`` has the digests of its files, ``reading`` is the one it was cut from."""
    if made is None:
        drop_carvings(opened, [carving])  # nothing of the picture falls on this slat
        return
    suites.note_part(opened.connection, part)
    if made.judged is None or made.placement is None:
        opened.move_carving(carving, "refuse", trouble=Trouble(*(made.refusal or ("refused", "", ""))))
        return
    outline = kept[made.outline]
    add_blob_refs(opened.ctx, opened.connection, (outline, made.outline))
    if carving.state is CarvingState.READING:
        carving = opened.move_carving(carving, "read")
    carving = replace(carving, outline=outline, trouble=None)
    proved = Proved(at, made.placement, made.judged, kept[made.judged.picture], reading)
    store_proof(opened, carving, opened.lines[carving.line_id], proved)


def _refuse_all(ctx: Context, payload: Mapping[str, Any], trouble: Trouble) -> None:
    with _waiting(ctx, payload) as (opened, whole):
        for carving in () if whole is None else whole.carvings:
            opened.move_carving(carving, "refuse", trouble=trouble)


@contextmanager
def _waiting(ctx: Context, payload: Mapping[str, Any]) -> Iterator[tuple[OpenOrder, WholeSuite | None]]:
    """The suite in hand within its open order; ``None`` when something else was asked for meanwhile."""
    reach = TenantScope(payload["workshop"])
    with ctx.store.reading() as connection:
        suite = suites.find_suite(connection, reach, payload["subject"])
    if suite is None:
        raise NotFoundError("suite")
    with open_order(ctx, System(payload["workshop"]), suite.order_id, "prove") as opened:
        try:
            whole: WholeSuite | None = find_whole_suite(opened.connection, reach, suite.id)
        except NotFoundError:
            whole = None
        if whole is not None and not _still_waits(whole, payload, opened):
            whole = None
        yield opened, whole


def _still_waits(whole: WholeSuite, payload: Mapping[str, Any], opened: OpenOrder) -> bool:
    asked = whole.suite.revision == payload["revision"] and opened.order.state in OPEN
    return asked and all(carving.state in _WAITING for carving in whole.carvings)
