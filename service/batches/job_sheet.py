"""The job sheet of an order: what to cut, on which board, with what, in which order, what to look out for."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Sequence
from datetime import UTC

import numpy as np

from artwork.drawings import MachineFrame
from artwork.workpiece import Bit
from service.batches.bench_words import bit_words, holding_words, safety_words
from service.batches.cautions import advice, cautions, checks, order_of_work
from service.batches.content import OrderContent, ShopContent
from service.batches.jobs import MOST_DRAWN, Job, cut_facts, job_facts, program_line, setups
from service.batches.measures import Measures
from service.batches.sheet import LEFT, LOW, RIGHT, TOP, Sheet, shortened
from service.batches.sheet_figure import Box, draw_figure, lies_turned
from service.language.chosen import N_, _, spoken
from service.language.figures import decimal, long_day_words
from service.language.phrasebook import told
from service.language.woods import wood_words

_PICTURE = Box(112.0, TOP + 3.0, 48.0, 30.0)
"""Where the first carving is drawn on the first sheet."""
_BOX, _BOXES = 9.0, 18
"""Width of a piece's box with its number, mm, and how many stand in a row."""
_MOST_TICKED = 8
"""Of more carvings than that, pieces are ticked by their labels or on the pages."""
ROW = 5.2
"""Height of a table's row, mm."""
BLOCK = 119.0
"""Height of one set-up's block: two to a sheet."""


def job_sheet(shop: ShopContent, order: OrderContent, jobs: Sequence[Job], batch: str) -> bytes:
    """The sheets as PDF: black on white, for A4 or Letter at 100 %; same values, same bytes.

    Args:
        shop: who cuts.
        order: what was ordered.
        jobs: its carvings.
        batch: name of the batch, printed on every sheet.
    """
    with spoken(order.machine.language):
        sheet = Sheet(order.machine.paper, _("Job sheet, order {number}", number=order.number))
        named = _("order {number} · batch {batch}", number=order.number, batch=batch)
        pages = _Pages(sheet, f"{shop.name} · {named} · {shop.software}", Measures(order.units))
        _front(pages, order, jobs)
        _details(pages, jobs, order.machine.frame)
        pages.close()
        return sheet.bytes()


class _Pages:
    """Signs each sheet at its foot; ``measures`` write its lengths."""

    def __init__(self, sheet: Sheet, words: str, measures: Measures) -> None:
        self.sheet, self._words, self.measures = sheet, words, measures

    def turn(self) -> None:
        self.close()
        self.sheet.turn()

    def close(self) -> None:
        self.sheet.text(LEFT, LOW + 5, self._words, 7)
        self.sheet.number()


def _front(pages: _Pages, order: OrderContent, jobs: Sequence[Job]) -> None:
    sheet, terms = pages.sheet, order.terms
    sheet.text(LEFT, TOP + 9, _("Job sheet · order {number}", number=order.number), 20, bold=True)
    part = "" if order.part_of is None else " " + _("(part of order {number})", number=order.part_of)
    sheet.text(LEFT, TOP + 17, shortened(order.client + part, _PICTURE.x - LEFT - 3, 12), 12)
    drawn = next((job.figure for job in jobs if job.figure.art), None)
    if drawn is not None:
        draw_figure(sheet, drawn, _PICTURE)
    if order.address:
        sheet.qr(RIGHT - 30, TOP, order.address, 30)
        sheet.right(RIGHT, TOP + 33, _("scan: the order"), 7)
    released = order.released_at.astimezone(UTC)
    needed = long_day_words(terms.needed_by) if terms.needed_by else _("no date given")
    sheet.text(LEFT, TOP + 25, _("Needed by {day}", day=needed), 11, bold=True)
    sheet.text(
        LEFT,
        TOP + 30.5,
        _("Released {day}, {time} UTC", day=long_day_words(released.date()), time=released.strftime("%H:%M")),
        8.5,
    )
    y = TOP + 39
    for line in order.lines:
        words = f"{line.quantity} × {line.name}" + (f": “{line.note}”" if line.note else "")
        y = sheet.paragraph(LEFT, y, words, RIGHT - LEFT, 10)
    for words in (
        terms.purchase_order and _("Client's order number: {number}", number=terms.purchase_order),
        terms.delivery_address
        and _("Deliver to: {where}", where=" / ".join(terms.delivery_address.splitlines())),
        terms.note,
        *(pages.measures.told(told(each)) for each in order.plan),
    ):
        if words:
            y = sheet.paragraph(LEFT, y, words, RIGHT - LEFT)
    y = _table(pages, jobs, y + 2)
    y = _ticks(pages, jobs, y)
    y = _list(
        pages,
        _("Bits"),
        bit_words(order.machine, [(job.bit, job.allowances) for job in jobs]),
        y + 4,
        ticked=True,
    )
    y = _parts(pages, order, y)
    floors = any(float(job.figures.get("floor_area") or 0) > 0 for job in jobs)
    steps = order_of_work([(job.figure.slat, job.bit, job.allowances) for job in jobs], floors=floors)
    y = _list(pages, _("Order of work"), _numbered(steps), y + 5, ticked=False)
    looked_at = _once(
        checks(
            job.figure.slat,
            job.bit,
            job.allowances,
            _worst_depth(jobs, job),
            _spare(jobs, job.bit),
            zero_per=order.machine.zero_per,
        )
        for job in jobs
    )
    y = _list(pages, _("Check before you cut"), looked_at, y + 4, ticked=True)
    y = _list(pages, _("Holding and cutting out"), holding_words(order.machine), y + 4, ticked=False)
    spoils = _once(advice(job.figure.slat, job.allowances, floors=floors) for job in jobs)
    y = _list(pages, _("What spoils boards"), spoils, y + 4, ticked=False)
    woods = sorted({(job.figure.slat.species, job.figure.slat.finish) for job in jobs})
    said = (*safety_words(_shortest(order, jobs)), *_once(cautions(*each) for each in woods))
    _list(pages, _("Cautions"), said, y + 4, ticked=False)


def _shortest(order: OrderContent, jobs: Sequence[Job]) -> float:
    """Length of the shortest part, mm."""
    parts = [each.part.length for board in order.boards for each in board.parts]
    return min(parts or [float(np.ptp(job.figure.outline, axis=0).max()) for job in jobs])


def _ticks(pages: _Pages, jobs: Sequence[Job], y: float) -> float:
    """A box for every piece of the carvings that are cut more than once; returns where they end."""
    many = [job for job in jobs if job.pieces > 1]
    if len(many) > _MOST_TICKED:
        return y
    for job in many:
        for first in range(1, job.pieces + 1, _BOXES):
            if y + ROW > LOW:
                pages.turn()
                y = TOP + 6
            pages.sheet.right(LEFT + 6, y, f"{job.number}", 8, bold=True)
            for place, piece in enumerate(range(first, min(first + _BOXES, job.pieces + 1))):
                x = LEFT + 9 + place * _BOX
                pages.sheet.box(x, y + 0.4)
                pages.sheet.text(x + 4, y, str(piece), 7)
            y += ROW
    return y + 2 if many else y


def _parts(pages: _Pages, order: OrderContent, y: float) -> float:
    """The parts that are cut out, counted by size; returns where they end."""
    counted = Counter(
        (each.part.name, each.part.length, each.part.width, each.part.thickness, each.part.wood)
        for board in order.boards
        for each in board.parts
    )
    words = [
        f"{many} × {name}, "
        + pages.measures.told(f"{length:g} × {width:g} × {thickness:g} mm")
        + (f", {wood_words(wood)}" if wood else "")
        for (name, length, width, thickness, wood), many in counted.items()
    ]
    return (
        _sentences(pages, _("Parts: {count}", count=sum(counted.values())), words, y + 4, ticked=True)
        if words
        else y
    )


def _worst_depth(jobs: Sequence[Job], like: Job) -> float:
    """Of all carvings on boards as thick as one."""
    thickness = like.figure.slat.thickness
    return max(float(job.figures["deepest_cut"]) for job in jobs if job.figure.slat.thickness == thickness)


def _spare(jobs: Sequence[Job], bit: Bit) -> float:
    """What the tightest line of all carvings with one bit has above its need, mm."""
    known = [job.figures for job in jobs if job.bit == bit and job.figures["least_line"] is not None]
    return min((each["least_line"] - each["least_line_required"] for each in known), default=0.0)


def _once(sentences: Iterable[tuple[str, ...]]) -> tuple[str, ...]:
    """Each sentence once, in the order in which it first comes."""
    return tuple(dict.fromkeys(words for several in sentences for words in several))


def _numbered(words: Sequence[str]) -> tuple[str, ...]:
    return tuple(f"{number}.  {told(each)}" for number, each in enumerate(words, 1))


_COLUMNS = (
    # heading, x of its left or right edge, whether it ends there
    (N_("no."), LEFT + 6, True),
    (N_("slat"), LEFT + 9, False),
    (N_("on"), LEFT + 46, False),
    (N_("art"), LEFT + 108, True),
    (N_("depth"), LEFT + 119, True),
    (N_("worst depth"), LEFT + 138, True),
    (N_("wood left"), LEFT + 153, True),
    (N_("min each"), LEFT + 167, True),
    (N_("min all"), RIGHT - 1, True),
)


def _table(pages: _Pages, jobs: Sequence[Job], y: float) -> float:
    """One row per carving; returns where it ends."""
    y, measures = _table_head(pages.sheet, y), pages.measures
    for job in jobs:
        if y + ROW > LOW:
            pages.turn()
            y = _table_head(pages.sheet, TOP + 4)
        figures, minutes = job.figures, float(job.figures.get("minutes") or 0)
        row = (
            str(job.number),
            job.slat_name,
            job.where,
            f"{measures.number(figures.get('width', 0), 1)} × {measures.number(figures.get('height', 0), 1)}",
            measures.down(figures.get("depth", 0)),
            measures.up(figures.get("deepest_cut", 0)),
            measures.down(figures.get("wood_left", 0)),
            decimal(minutes, 1),
            decimal(minutes * job.pieces, 0),
        )
        _row(pages.sheet, row, y)
        y += ROW
    pages.sheet.rule(y - ROW + 1.6)
    total = sum(float(job.figures.get("minutes") or 0) * job.pieces for job in jobs)
    words = _(
        "{unit}; depth: as programmed; worst depth: where the board stands high", unit=pages.measures.name
    )
    pages.sheet.text(LEFT, y + 0.6, words, 7)
    pages.sheet.right(
        RIGHT - 1,
        y + 0.6,
        _("carving time of the order, an estimate: {hours}", hours=_hours(total)),
        8.5,
        bold=True,
    )
    return y + ROW


def _table_head(sheet: Sheet, y: float) -> float:
    sheet.shade(LEFT, y, RIGHT - LEFT, ROW)
    for words, x, ends in _COLUMNS:
        (sheet.right if ends else sheet.text)(x, y + 3.7, _(words), 8, bold=True)
    return y + 2 * ROW - 1.4


_SLAT_WIDTH, _ON_WIDTH = 36.0, 43.0
"""Room for words of a row, mm; the whole of them stands in the carving's own block."""


def _row(sheet: Sheet, cells: Sequence[str], y: float) -> None:
    number, slat, on, *rest = cells
    room = (number, shortened(slat, _SLAT_WIDTH, 8), shortened(on, _ON_WIDTH, 8), *rest)
    sheet.box(LEFT - 1.5, y + 0.4)
    for words, (_heading, x, ends) in zip(room, _COLUMNS, strict=True):
        (sheet.right if ends else sheet.text)(x, y, words, 8)


def _hours(minutes: float) -> str:
    whole = round(minutes)
    return f"{whole // 60} h {whole % 60:02} min"


def _list(pages: _Pages, title: str, words: Sequence[str], y: float, *, ticked: bool) -> float:
    """A heading and sentences of ours, in the sheet's language and unit."""
    return _sentences(pages, title, [pages.measures.told(told(each)) for each in words], y, ticked=ticked)


def _sentences(pages: _Pages, title: str, words: Sequence[str], y: float, *, ticked: bool) -> float:
    """A heading and its sentences, going on to a new sheet where there is no room."""
    if y + 12 > LOW:
        pages.turn()
        y = TOP + 6
    pages.sheet.text(LEFT, y, title, 11, bold=True)
    y += 5
    for sentence in words:
        if y + 8 > LOW:
            pages.turn()
            y = TOP + 6
        inset = 6.0 if ticked else 0.0
        if ticked:
            pages.sheet.box(LEFT, y + 0.4)
        y = pages.sheet.paragraph(LEFT + inset, y, sentence, RIGHT - LEFT - inset) + 0.8
    return y


def _details(pages: _Pages, jobs: Sequence[Job], frame: MachineFrame) -> None:
    """A block for every set-up, two to a sheet; where many carvings share one, small drawings after it."""
    low = LOW
    for setup in setups(jobs):
        if low + BLOCK > LOW:
            pages.turn()
            low = TOP + 4
        _block(pages, setup, low, frame)
        low += BLOCK + 3
        if 1 < len(setup) <= MOST_DRAWN:
            low = _small_drawings(pages, setup, low - 3)


def _small_drawings(pages: _Pages, setup: Sequence[Job], low: float) -> float:
    """The set-up's carvings three abreast, each with its number; returns where they end."""
    wide, high = (RIGHT - LEFT) / 3, 21.0
    for place, job in enumerate(setup):
        if place % 3 == 0:
            low += high if place else 0
            if low + high > LOW:
                pages.turn()
                low = TOP + 4
        x = LEFT + place % 3 * wide
        pages.sheet.text(x, low + 3, f"{job.number}  {job.where}", 7)
        draw_figure(pages.sheet, job.figure, Box(x + 5, low + 5, wide - 10, high - 8))
    return low + high + 3


def _block(pages: _Pages, setup: Sequence[Job], top: float, frame: MachineFrame) -> None:
    """One set-up: the drawing of its first carving over the figures, each the worst of all its carvings."""
    sheet, job = pages.sheet, setup[0]
    many = len(setup) > 1
    sheet.rule(top, width=0.4)
    numbers = _("{first} to {last}", first=job.number, last=setup[-1].number) if many else str(job.number)
    sheet.text(LEFT, top + 6.5, f"{numbers}  {job.slat_name}", 13, bold=True)
    where = (
        _(
            "{carvings} carvings, {pieces} pieces",
            carvings=len(setup),
            pieces=sum(each.pieces for each in setup),
        )
        if many
        else job.where
    )
    sheet.right(RIGHT, top + 6.5, f"{job.model_name}: {where}", 9)
    box = Box(LEFT + 8, top + 12, RIGHT - LEFT - 16, 40)
    draw_figure(sheet, job.figure, box)
    turned = _("; drawn here turned a quarter to the right") if lies_turned(job.figure, box) else ""
    words = _("On the machine: {how}. Arrow: top end. Circled cross: zero.", how=_lies(frame) + turned)
    sheet.paragraph(LEFT, top + 58.5, words, RIGHT - LEFT, 7.5)
    for column, facts in enumerate((cut_facts(setup), job_facts(setup, where))):
        x, y = LEFT + column * 92, top + 65
        for name, said in facts:
            sheet.text(x, y, name, 8)
            y = sheet.paragraph(x + 31, y, pages.measures.told(said), 58, 8) + 0.9
    sheet.text(LEFT, top + BLOCK - 6.5, program_line(setup), 7, bold=True)
    named = (
        _("the first of them; each folder holds its own and its preview")
        if many
        else _("folder {name}", name=job.folder)
    )
    sheet.text(LEFT, top + BLOCK - 3, _("proof {digest}", digest=job.digest[:16]) + f" … · {named}", 7)


def _lies(frame: MachineFrame) -> str:
    """How drawings lie, as :attr:`MachineFrame.words` has it."""
    ways = [_("mirrored")] if frame.mirrored else []
    if frame.quarter_turns % 4 or not frame.mirrored:
        ways.append(told(frame.turned))
    return _("{lies}; zero at {where}", lies=", ".join(ways), where=told(frame.zero_words))
