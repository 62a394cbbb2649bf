"""An order's boards and days: its part list, and its work piece by piece."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from artwork.furniture import ModelLayout
from service.boards.cut_parts import CutLine, CutPart, cut_parts
from service.boards.schedule import Pace, PieceWork, piece_work
from service.orders.order import Carving, Line
from service.orders.proofs import Proof
from service.orders.workshop import Settings


def order_parts(lines: Iterable[Line], settings: Settings) -> tuple[CutPart, ...]:
    """Every part of every piece of an order, as if nothing were carved on it.

    Raises:
        KeyError: a line's model is not among the settings.
    """
    return cut_parts(CutLine(line.position, _layout(line, settings), line.quantity, {}) for line in lines)


def order_works(
    lines: Iterable[Line],
    carvings: Sequence[Carving],
    proofs: Iterable[Proof],
    settings: Settings,
    pace: Pace,
    *,
    boards: float,
    own_marks: Sequence[tuple[int, float]] = (),
) -> tuple[PieceWork, ...]:
    """The work of an order: pieces of a line that are carved alike together.

    Carvings without a current proof take no carving time yet; their boards are loaded all the same.

    Args:
        lines, carvings, proofs: of the order.
        settings, pace: the workshop's.
        boards: that the whole order is cut from.
        own_marks: position of a line and minutes of a mark of the workshop's own on each of its pieces.

    Raises:
        KeyError: a line's model is not among the settings.
    """
    minutes = {
        proof.carving_id: float(proof.check["figures"]["minutes"]) for proof in _current(carvings, proofs)
    }
    found: list[PieceWork] = []
    lines = tuple(lines)
    shares = {line.model_key: area_of(_layout(line, settings)) for line in lines}
    whole = sum(shares[line.model_key] * line.quantity for line in lines)
    for line in lines:
        layout = _layout(line, settings)
        mine = [carving for carving in carvings if carving.line_id == line.id]
        everywhere = [minutes.get(carving.id, 0.0) for carving in mine if carving.piece is None]
        everywhere += [taken for position, taken in own_marks if position == line.position]
        apart: dict[int, list[float]] = {}
        for carving in mine:
            if carving.piece is not None:
                apart.setdefault(carving.piece, []).append(minutes.get(carving.id, 0.0))
        plain = line.quantity - len(apart)
        groups = [(everywhere, plain)] if plain else []
        groups += [(everywhere + own, 1) for own in apart.values()]
        found += [
            piece_work(
                layout.name,
                pieces,
                carving,
                layout.parts,
                pace,
                boards=boards * shares[line.model_key] / whole if whole else 0.0,
                shop_minutes=layout.shop_minutes,
                assembly_minutes=layout.assembly_minutes,
            )
            for carving, pieces in groups
        ]
    return tuple(found)


def area_of(layout: ModelLayout) -> float:
    """Area of the rectangles that one piece's parts are cut from, mm²: its share of an order's boards goes by it."""
    return sum(part.count * part.length * part.width for part in layout.all_parts)


def _current(carvings: Iterable[Carving], proofs: Iterable[Proof]) -> list[Proof]:
    wanted = {carving.proof_id for carving in carvings}
    return [proof for proof in proofs if proof.id in wanted]


def _layout(line: Line, settings: Settings) -> ModelLayout:
    model = settings.model(line.model_key)
    if model is None:
        raise KeyError(line.model_key)
    return model.layout
