"""The packing list of an order: what belongs to each piece, ticked off into its bundle, and what goes along."""

from __future__ import annotations

from collections import Counter

from service.batches.cautions import DEFERS
from service.batches.content import OrderContent
from service.batches.sheet import LEFT, LOW, RIGHT, TOP, Sheet
from service.boards.cut_parts import CutPart
from service.language.chosen import N_, _, ngettext, spoken
from service.language.figures import long_day_words
from service.language.phrasebook import told

_ROW = 5.0
_TOOLS = (
    N_("Driver with bits for these screws, and spare bits (common practice, no source)."),
    N_("Drill with pilot bit and stops; square; tape; clamps; mallet (common practice, no source)."),
    N_(
        "Touch-up finish and rag: oily rags are laid out flat to dry, outdoors, or kept in a metal bin under water "
        "(common practice, no source)."
    ),
    N_("This list, and the job sheet for the order of the parts."),
)


def packing_list(order: OrderContent) -> bytes:
    """The sheets as PDF: first what goes to the site, then every piece. Same values, same bytes."""
    with spoken(order.machine.language):
        return _packing_list(order)


def _packing_list(order: OrderContent) -> bytes:
    sheet = Sheet(order.machine.paper, _("Packing list, order {number}", number=order.number))
    pages = _Pages(sheet, _("order {number}", number=order.number) + f" · {order.client}")
    y = _head(pages, order)
    pieces = _by_piece(order)
    for (line, piece), parts in pieces.items():
        y = _piece(pages, _("Line {line}, piece {piece}", line=line, piece=piece), parts, y)
    pages.close()
    return sheet.bytes()


class _Pages:
    """Signs each sheet at its foot."""

    def __init__(self, sheet: Sheet, words: str) -> None:
        self.sheet, self._words = sheet, words

    def room(self, y: float, height: float) -> float:
        """``y``, or the top of a new sheet where so much does not fit below it."""
        if y + height <= LOW:
            return y
        self.close()
        self.sheet.turn()
        return TOP + 6

    def close(self) -> None:
        self.sheet.text(LEFT, LOW + 5, _("Packing list") + f" · {self._words}", 7)
        self.sheet.number()


def _head(pages: _Pages, order: OrderContent) -> float:
    sheet = pages.sheet
    sheet.text(LEFT, TOP + 9, _("Packing list · order {number}", number=order.number), 20, bold=True)
    sheet.text(LEFT, TOP + 17, order.client, 12)
    if order.address:
        sheet.qr(RIGHT - 30, TOP, order.address, 30)
    y = TOP + 25
    if order.terms.needed_by:
        sheet.text(LEFT, y, _("Needed by {day}", day=long_day_words(order.terms.needed_by)), 11, bold=True)
        y += 7
    if order.terms.delivery_address:
        where = " / ".join(order.terms.delivery_address.splitlines())
        y = sheet.paragraph(LEFT, y, _("Deliver to: {where}", where=where), RIGHT - LEFT - 36, 10) + 1
    if order.terms.note:
        y = sheet.paragraph(LEFT, y, order.terms.note, RIGHT - LEFT - 36, 10) + 1
    y = max(y + 3, TOP + 36)
    y = _section(pages, _("To the site"), _for_site(order), y)
    y = _section(pages, _("For the assembly"), tuple(_(words) for words in _TOOLS), y)
    return sheet.paragraph(LEFT, y - 2, told(DEFERS), RIGHT - LEFT) + 6


def _for_site(order: OrderContent) -> tuple[str, ...]:
    """Pieces, and the screws that their holes take."""
    pieces = Counter[tuple[str, str]]()
    for line in order.lines:
        pieces[line.key, line.name] += line.quantity
    said = []
    for (key, name), many in pieces.items():
        said.append(
            ngettext(
                "{count} × {name}, in {count} bundle.",
                "{count} × {name}, in {count} bundles.",
                many,
                name=name,
            )
        )
        holes = sum(
            "screw" in keep_out.reason
            for placed in order.models[key].slats
            for keep_out in placed.slat.keep_outs
        )
        if holes:
            said.append(
                _(
                    "{screws} stainless screws for the {holes} holes in the slats of each {name}, and some to spare; "
                    "bolts and screws of the other parts as its drawing has them.",
                    screws=holes * many,
                    holes=holes,
                    name=name,
                )
            )
    return tuple(said)


def _section(pages: _Pages, title: str, words: tuple[str, ...], y: float) -> float:
    y = pages.room(y, 14)
    pages.sheet.text(LEFT, y, title, 12, bold=True)
    y += 6
    for sentence in words:
        y = pages.room(y, 8)
        pages.sheet.box(LEFT, y + 0.4)
        y = pages.sheet.paragraph(LEFT + 6, y, sentence, RIGHT - LEFT - 6, 9) + 1
    return y + 3


def _by_piece(order: OrderContent) -> dict[tuple[int, int], list[CutPart]]:
    """The parts of each piece, line by line."""
    found: dict[tuple[int, int], list[CutPart]] = {}
    parts = [each.part for board in order.boards for each in board.parts]
    for part in sorted(parts, key=lambda each: (each.line, each.piece, each.part_key, each.key)):
        found.setdefault((part.line, part.piece), []).append(part)
    return found


def _piece(pages: _Pages, title: str, parts: list[CutPart], y: float) -> float:
    """The parts of one piece in two columns, equal ones together, slats with their text."""
    rows = Counter((part.name, part.text) for part in parts)
    half = (len(rows) + 1) // 2
    y = pages.room(y, 8 + half * _ROW)
    pages.sheet.rule(y - 4.5)
    pages.sheet.text(LEFT, y, title, 10, bold=True)
    y += _ROW + 0.5
    for at, ((name, text), many) in enumerate(rows.items()):
        x, row = LEFT + at // half * (RIGHT - LEFT) / 2, y + at % half * _ROW
        pages.sheet.box(x, row + 0.4)
        said = f"{many} × {name}" + (f" “{' / '.join(text.splitlines())}”" if text else "")
        pages.sheet.text(x + 6, row, said, 8.5)
    return y + half * _ROW + 3
