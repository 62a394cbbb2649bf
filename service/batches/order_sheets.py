"""What a batch has of a whole order besides its carvings: beds, lists, labels; made of its boards and its proofs."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
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
    from service.boards.cut_parts import CutPart


def order_sheets(order: OrderContent, proofs: Mapping[str, DrawnProof]) -> dict[str, bytes]:
    """File name → bytes; nothing for an order without boards. EngineError.

    Args:
        order: with its boards and models.
        proofs: by digest, of everything carved.
    """
    if not order.boards:
        return {}
    return {
        **beds_of([order], proofs),
        PARTS_LIST: parts_list(order),
        LABELS: labels(order),
        PACKING_LIST: packing_list(order),
    }


def bed_plan(orders: Sequence[OrderContent], proofs: Mapping[str, DrawnProof]) -> tuple[BedLayout, ...]:
    """The boards of orders that share them on the machine's bed, bed after bed. EngineError.

    Args:
        orders: each with its boards and models; made for one machine.
        proofs: by digest, of everything carved; what is carved by one digest in one place is one
            :class:`~artwork.cut.Cut`.
    """
    from artwork.drawings.beds import bed_layouts

    numbers = ", ".join(str(order.number) for order in orders)
    job = f"order {numbers}" if len(orders) == 1 else f"orders {numbers}"
    return bed_layouts(_bed_boards(orders, proofs), orders[0].machine.bed, job)


def joint_sheets(orders: Sequence[OrderContent], proofs: Mapping[str, DrawnProof]) -> dict[str, bytes]:
    """Path → bytes of the sheets of several orders that share their boards: beds for all, lists and labels for each.

    Args:
        orders: each with the boards that its parts come out of, as numbered in the plan of all; made for one machine.
        proofs: by digest, of everything carved.
    """
    files = beds_of(orders, proofs)
    for order in orders:
        files[f"order-{order.number:05}-{PARTS_LIST}"] = parts_list(order)
        files[f"order-{order.number:05}-{LABELS}"] = labels(order)
    return files


def beds_of(orders: Sequence[OrderContent], proofs: Mapping[str, DrawnProof]) -> dict[str, bytes]:
    """``"bed-01.svg"``, ``"bed-01.dxf"`` and on: of orders that share boards and machine."""
    from artwork.drawings.bed_writing import bed_dxf, bed_svg

    drawn: dict[str, bytes] = {}
    for layout in bed_plan(orders, proofs):
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


def _bed_boards(orders: Sequence[OrderContent], proofs: Mapping[str, DrawnProof]) -> list[BedBoard]:
    """The boards in their order, each with what comes out of it for whichever order."""
    from artwork.drawings.beds import BedBoard, BedPart

    cuts: dict[tuple[str, tuple[float, float]], Cut] = {}

    def cut(part: CutPart) -> Cut | None:
        if part.digest not in proofs:
            return None
        this = part.digest, part.shift
        if this not in cuts:
            cuts[this] = proofs[part.digest].cut().shifted(*part.shift)
        return cuts[this]

    boards: dict[int, BedBoard] = {}
    for order in orders:
        slats = {
            (key, placed.slat.key): placed.slat
            for key, model in order.models.items()
            for placed in model.slats
        }
        holes = {(key, part.key): part.holes for key, model in order.models.items() for part in model.parts}
        for board in order.boards:
            parts = tuple(
                BedPart(
                    part_label(order.number, each.part.key, each.part.name, each.part.text),
                    each.part.length,
                    each.part.width,
                    each.along,
                    each.across,
                    slats.get((each.part.model_key, each.part.part_key)),
                    cut(each.part),
                    holes.get((each.part.model_key, each.part.part_key), ()),
                )
                for each in board.parts
            )
            known = boards.get(board.number)
            boards[board.number] = (
                BedBoard(board.number, board.name, board.length, board.width, parts)
                if known is None
                else replace(known, parts=known.parts + parts)
            )
    return [boards[number] for number in sorted(boards)]


def part_label(order: int, key: str, name: str, text: str) -> str:
    """What is written on a part: order, key, name and text."""
    said = " / ".join(text.split("\n"))
    return f"{order} · {key} · {name}" + (f" · {said}" if said else "")
