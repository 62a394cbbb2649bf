"""Labels for every slat of an order: QR code, order, key, name, text; on sheets of the workshop's own sizes."""

from __future__ import annotations

from artwork.drawings.canvas import PAPERS
from service.batches.content import OrderContent
from service.batches.sheet import Sheet, shortened
from service.boards.cut_parts import CutPart
from service.language.chosen import _, spoken

_INSET = 2.0
"""Kept free within a label's edge, mm."""
_LINE = 4.2
"""From one line to the next, mm."""
_LARGEST_CODE = 24.0


def labels(order: OrderContent) -> bytes:
    """One label per slat, piece by piece; black on white, to be printed at 100 %. Same values, same bytes."""
    with spoken(order.machine.language):
        return _labels(order)


def _labels(order: OrderContent) -> bytes:
    machine = order.machine
    sheet = Sheet(machine.paper, _("Labels, order {number}", number=order.number))
    wide, high = PAPERS[machine.paper]
    columns, rows, gap = machine.label_columns, machine.label_rows, machine.label_gap
    width = (wide - 2 * machine.label_margin_x - (columns - 1) * gap) / columns
    height = (high - 2 * machine.label_margin_y - (rows - 1) * gap) / rows
    for at, (part, board) in enumerate(labelled(order)):
        place = at % (columns * rows)
        if at and place == 0:
            sheet.turn()
        x = machine.label_margin_x + place % columns * (width + gap)
        y = machine.label_margin_y + place // columns * (height + gap)
        _label(sheet, order, part, board, (x, y, width, height))
    return sheet.bytes()


def labelled(order: OrderContent) -> list[tuple[CutPart, int]]:
    """The parts that bear a label, each with the number of its board: the slats, piece by piece."""
    slats = {(key, placed.slat.key) for key, model in order.models.items() for placed in model.slats}
    found = [
        (each.part, board.number)
        for board in order.boards
        for each in board.parts
        if (each.part.model_key, each.part.part_key) in slats
    ]
    return sorted(found, key=lambda pair: (pair[0].line, pair[0].piece, pair[0].part_key))


def _label(
    sheet: Sheet, order: OrderContent, part: CutPart, board: int, box: tuple[float, float, float, float]
) -> None:
    x, y, width, height = box
    code = min(height - 2 * _INSET, width / 2.2, _LARGEST_CODE)
    left, room = x + _INSET, width - 2 * _INSET
    if order.address:
        sheet.qr(left, y + _INSET, f"{order.address}/items/{part.key}", code)
        left, room = left + code + _INSET, room - code - _INSET
    lines = [
        (_("Order {number}", number=order.number), 11, True),
        (
            _("line {line}, piece {piece} · board {board}", line=part.line, piece=part.piece, board=board),
            8,
            True,
        ),
        (part.name, 8, False),
        (" / ".join(part.text.split("\n")), 8, False),
        (part.key, 6, False),
    ]
    at = y + _INSET + _LINE
    for words, size, bold in lines:
        if words and at <= y + height - _INSET / 2:
            sheet.text(left, at, shortened(words, room, size), size, bold=bold)
            at += _LINE
