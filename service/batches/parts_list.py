"""The list of every part of an order as CSV: from which board, where on it, for which piece."""

from __future__ import annotations

from artwork.csv_text import csv_bytes
from service.batches.content import OrderContent

HEADER = (
    "order", "board", "board_kind", "part", "key", "line", "model", "piece", "wood",
    "thickness_mm", "length_mm", "width_mm", "from_foot_mm", "from_left_mm", "text", "proof",
)  # fmt: skip


def parts_list(order: OrderContent) -> bytes:
    """One row per part, board by board; text that a spreadsheet would take for a formula is made neutral."""
    rows = (
        (
            order.number, board.number, board.name, each.part.name, each.part.key, each.part.line,
            each.part.model_key, each.part.piece, each.part.wood, each.part.thickness, each.part.length,
            each.part.width, round(each.along, 2), round(each.across, 2), each.part.text, each.part.digest,
        )
        for board in order.boards
        for each in board.parts
    )  # fmt: skip
    return csv_bytes(HEADER, rows)
