"""What an order's lines carry: carvings added, dropped, and proved anew when the pieces change."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from service.orders.errors import ConflictError
from service.orders.ids import new_id
from service.orders.order import Carving, Line
from service.orders.states import CarvingState
from service.orders.suites import SuiteKind
from service.orders.work import JobKind
from service.store import art, orders, suites
from service.usecases.opened import OpenOrder

_HAS_A_CUT = frozenset(CarvingState) - {
    CarvingState.NO_ART,
    CarvingState.READING,
    CarvingState.REFUSED,
    CarvingState.RELEASED,
}


def blank_carving(line: Line, slat_key: str, piece: int | None = None) -> Carving:
    """A carving without art, on every piece of the line or on one."""
    return Carving(
        id=new_id(),
        order_id=line.order_id,
        line_id=line.id,
        slat_key=slat_key,
        piece=piece,
        state=CarvingState.NO_ART,
        revision=1,
        artwork_id=None,
        reading_id=None,
        outline=None,
        outline_note="",
        placement=None,
        bit_key=None,
        thickness=None,
    )


def prove_anew(opened: OpenOrder, carvings: Iterable[Carving]) -> None:
    """Another number of pieces is another proof: how many are cut is part of what was approved."""
    for carving in carvings:
        if carving.piece is None and carving.state in _HAS_A_CUT:
            changed = opened.move_carving(carving, "change", proof_id=None, verdict=None, trouble=None)
            opened.ask(JobKind.PROVE, changed.id, revision=changed.revision)


def refuse_other_count(opened: OpenOrder, line: Line, quantity: int, slats: Sequence[str]) -> None:
    """A list of texts says how many pieces there are. ConflictError "list-decides"."""
    lists = {
        suite.id: suite.wanted["slats"][0]
        for suite in suites.suites_of_orders(opened.connection, opened.reach, [opened.order.id])
        if suite.line_id == line.id and suite.kind is SuiteKind.NAMES
    }
    parts = suites.parts_of_orders(opened.connection, opened.reach, [opened.order.id]) if lists else []
    for suite_id, slat in lists.items():
        texts = sum(part.suite_id == suite_id for part in parts)
        if slat in slats and texts != quantity:
            raise ConflictError(
                "list-decides",
                f"This line has a list of {texts} texts, one a piece. Change the list to change the pieces.",
            )


def fit_slats(opened: OpenOrder, line: Line, slats: Sequence[str]) -> None:
    """Drop the carvings of slats that are no longer named, add blank ones for new slats."""
    theirs = [carving for carving in opened.carvings.values() if carving.line_id == line.id]
    drop_carvings(opened, [carving for carving in theirs if carving.slat_key not in slats])
    has = {carving.slat_key for carving in theirs}
    new = [blank_carving(line, key) for key in slats if key not in has]
    orders.insert_carvings(opened.connection, opened.order.workshop_id, new)


def drop_carvings(opened: OpenOrder, doomed: Sequence[Carving]) -> None:
    """Remove carvings with their proofs."""
    ids = [carving.id for carving in doomed]
    if not ids:
        return
    for carving in doomed:
        opened.undo(carving, "drop")
    art.delete_proofs_of_carvings(opened.connection, ids)
    orders.delete_carvings(opened.connection, ids)
    for carving_id in ids:
        opened.carvings.pop(carving_id, None)
