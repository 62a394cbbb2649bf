"""How each value is stored, where that is not plain from its definition."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from datetime import date
from typing import Any

from artwork.jsonable import allowances_from_json, bit_from_json
from service.orders.artworks import Artwork, StoredReading
from service.orders.items import Tick
from service.orders.messages import OrderMessage
from service.orders.order import Carving, KeptArt, Line, Order
from service.orders.outcomes import ItemOutcome, Predicted
from service.orders.program_checks import (
    ProgramCheck,
    ProgramDanger,
    ProgramDifference,
    ProgramNote,
    ProgramReport,
)
from service.orders.proofs import Proof
from service.orders.record import Entry, Particulars
from service.orders.site import NO_SITE, SiteTerms, SiteValue
from service.orders.standing_mark import StandingMark
from service.orders.suites import Part, Suite
from service.orders.test_boards import ShopBoard, TestBoardContent
from service.orders.work import Batch, Job
from service.store.mapping import AnyRow, Rows, from_json, to_json
from service.store.stored_json import NOT_READ, StoredJson

NO_DATE = date(9999, 12, 31)


def _kept_columns(kept: tuple[KeptArt, ...]) -> dict[str, Any]:
    """The one outline is a column of its own, because it names a file."""
    plain = [{name: held for name, held in to_json(art).items() if name != "outline"} for art in kept]
    outline = next((art.outline for art in kept if art.outline is not None), None)
    return {"kept": plain or None, "kept_outline": outline}


def _kept(row: AnyRow) -> tuple[KeptArt, ...]:
    """Rows written before several could be kept hold one alone, not in a list."""
    plain: Sequence[Mapping[str, Any]] = [row.kept] if isinstance(row.kept, Mapping) else row.kept or ()
    kept = [from_json(KeptArt, {**art, "outline": None}) for art in plain]
    return (*kept[:-1], replace(kept[-1], outline=row.kept_outline)) if kept else ()


def _particulars(row: AnyRow) -> Particulars | None:
    """Of an entry joined with them; they may be gone."""
    return None if row.salt is None else Particulars(row.salt, row.name, row.address, row.words)


def _pairs(stored: Mapping[str, Sequence[float]]) -> dict[str, tuple[float, float]]:
    return {name: (before, after) for name, (before, after) in stored.items()}


def _predicted(row: AnyRow) -> Predicted:
    return from_json(Predicted, row.predicted)


def _program_report(row: AnyRow) -> ProgramReport:
    report = from_json(ProgramReport, row.report)
    stored = row.report
    return replace(
        report,
        differences=tuple(from_json(ProgramDifference, each) for each in stored["differences"]),
        dangers=tuple(from_json(ProgramDanger, each) for each in stored["dangers"]),
        remarks=tuple(from_json(ProgramNote, each) for each in stored["remarks"]),
    )


def _site(row: AnyRow) -> SiteTerms:
    stored = row.site_metadata
    values = tuple(from_json(SiteValue, each) for each in stored) if stored else ()
    return (
        SiteTerms(row.site_order_number, row.site_unique, values)
        if row.site_order_number or values
        else NO_SITE
    )


ORDERS = Rows(
    Order,
    flat=("contact", "site"),
    read={"site": _site},
    write={"needed_by": lambda day: {"needed_by": day, "due": day or NO_DATE}},
)
LINES = Rows(Line)
CARVINGS = Rows(
    Carving,
    read={"piece": lambda row: row.piece or None, "kept": _kept},
    write={"piece": lambda piece: {"piece": piece or 0}, "kept": _kept_columns},
)
ARTWORKS = Rows(Artwork)
READINGS = Rows(StoredReading)
# Joined with their standings; the large JSON values are handed on as they are stored.
PROOFS = Rows(
    Proof, read={"facts": lambda row: StoredJson(row.facts), "check": lambda row: StoredJson(row.check)}
)
BRIEF_PROOFS = Rows(Proof, read={"facts": lambda _: NOT_READ, "check": lambda _: NOT_READ})
"""Proofs of which nobody asks for the large values."""
ENTRIES = Rows(Entry, read={"particulars": _particulars}, write={"particulars": lambda _: {}})
JOBS = Rows(Job)
BATCHES = Rows(Batch)
SUITES = Rows(Suite)
PARTS = Rows(Part)
MARKS = Rows(StandingMark)
TEST_BOARDS = Rows(
    ShopBoard,
    read={
        "content": lambda row: from_json(TestBoardContent, row.content),
        "bit": lambda row: bit_from_json(row.bit),
        "allowances": lambda row: allowances_from_json(row.allowances),
        "readings": lambda row: dict(row.readings),
        "accepted": lambda row: None if row.accepted is None else _pairs(row.accepted),
    },
)
TICKS = Rows(Tick)
MESSAGES = Rows(OrderMessage)
OUTCOMES = Rows(ItemOutcome, read={"predicted": _predicted})
PROGRAM_CHECKS = Rows(ProgramCheck, read={"report": _program_report})
