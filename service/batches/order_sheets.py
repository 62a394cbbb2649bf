"""What a batch has of a whole order besides its carvings: beds, lists, labels; made of its boards and its proofs."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING

from service.batches.content import OrderContent
from service.batches.drawn import DrawnProof
from service.batches.labels import labels
from service.batches.packing_list import packing_list
from service.batches.parts_list import parts_list
from service.batches.sheet_names import LABELS, PACKING_LIST, PARTS_LIST

if TYPE_CHECKING:
    from artwork.cut import Cut
    from artwork.drawings.beds import BedBoard, BedLayout


def order_sheets(order: OrderContent, proofs: Mapping[str, DrawnProof]) -> dict[str, bytes]:
    """File name → bytes; nothing for an order without boards. EngineError.

    Args:
        order: with its boards and models.
        proofs: by digest, of everything carved.
    """
    if not order.boards:
        return {}
    return {
        **_beds(order, proofs),
        PARTS_LIST: parts_list(order),
        LABELS: labels(order),
        PACKING_LIST: packing_list(order),
    }


def bed_plan(order: OrderContent, proofs: Mapping[str, DrawnProof]) -> tuple[BedLayout, ...]:
    """The order's boards on the machine's bed, bed after bed. EngineError.

    Args:
        order: with its boards and models.
        proofs: by digest, of everything carved; what is carved by one digest is one :class:`~artwork.cut.Cut`.
    """
    from artwork.drawings.beds import bed_layouts

    return bed_layouts(list(_bed_boards(order, proofs)), order.machine.bed, f"order {order.number}")


def _beds(order: OrderContent, proofs: Mapping[str, DrawnProof]) -> dict[str, bytes]:
    """``"bed-01.svg"``, ``"bed-01.dxf"`` and on."""
    from artwork.drawings.bed_writing import bed_dxf, bed_svg

    drawn: dict[str, bytes] = {}
    for layout in bed_plan(order, proofs):
        drawn[f"bed-{layout.number:02}.svg"] = bed_svg(layout)
        drawn[f"bed-{layout.number:02}.dxf"] = bed_dxf(layout)
    return drawn


def digest_by_label(order: OrderContent) -> dict[str, str]:
    """What is written on each carved part → the digest of what is carved on it."""
    return {
        part_label(order.number, each.part.key, each.part.name, each.part.text): each.part.digest
        for board in order.boards
        for each in board.parts
        if each.part.digest
    }


def _bed_boards(order: OrderContent, proofs: Mapping[str, DrawnProof]) -> list[BedBoard]:
    from artwork.drawings.beds import BedBoard, BedPart

    cuts: dict[str, Cut] = {}

    def cut(digest: str) -> Cut | None:
        if digest not in proofs:
            return None
        if digest not in cuts:
            cuts[digest] = proofs[digest].cut()
        return cuts[digest]

    slats = {
        (key, placed.slat.key): placed.slat for key, model in order.models.items() for placed in model.slats
    }
    return [
        BedBoard(
            board.number,
            board.name,
            board.length,
            board.width,
            tuple(
                BedPart(
                    part_label(order.number, each.part.key, each.part.name, each.part.text),
                    each.part.length,
                    each.part.width,
                    each.along,
                    each.across,
                    slats.get((each.part.model_key, each.part.part_key)),
                    cut(each.part.digest),
                )
                for each in board.parts
            ),
        )
        for board in order.boards
    ]


def part_label(order: int, key: str, name: str, text: str) -> str:
    """What is written on a part: order, key, name and text."""
    said = " / ".join(text.split("\n"))
    return f"{order} · {key} · {name}" + (f" · {said}" if said else "")
