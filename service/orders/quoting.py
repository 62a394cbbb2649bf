"""What of an order is counted for its quote."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from decimal import Decimal
from math import prod

from artwork.furniture import ModelLayout
from service.orders.order import Carving, Line
from service.orders.proofs import Proof
from service.orders.quote import CarvedSlat, QuotedLine
from service.orders.workshop import Settings


def quoted_lines(
    lines: Sequence[Line],
    carvings: Iterable[Carving],
    proofs: Iterable[Proof],
    settings: Settings,
    personalised: Mapping[str, int] | None = None,
) -> tuple[QuotedLine, ...]:
    """The order's lines as a quote counts them.

    Carvings without a current proof are left out: what is not judged has no carving time yet.

    Args:
        lines: of the order.
        carvings: of the order.
        proofs: any that hold the carvings' current ones.
        settings: of the workshop, for the names of models and slats.
        personalised: carving id → how many of its pieces carry a text of their own.

    Raises:
        KeyError: a line's model, or a carving's slat, is not among the settings.
    """
    by_id = {proof.id: proof for proof in proofs}
    judged = [
        (carving, by_id[carving.proof_id])
        for carving in carvings
        if carving.proof_id is not None and carving.proof_id in by_id
    ]
    found = []
    for line in sorted(lines, key=lambda line: line.position):
        model = settings.model(line.model_key)
        if model is None:
            raise KeyError(line.model_key)
        mine = [(carving, proof) for carving, proof in judged if carving.line_id == line.id]
        carved = tuple(
            _carved(key, model.layout.slat(key).name, mine, personalised or {})
            for key in sorted({carving.slat_key for carving, _ in mine})
        )
        found.append(
            QuotedLine(
                line.position,
                line.model_key,
                model.layout.name,
                line.quantity,
                carved,
                line.finish,
                wood_of(model.layout),
            )
        )
    return tuple(found)


def wood_of(layout: ModelLayout) -> tuple[tuple[str, float], ...]:
    """Each wood of a model's parts and how much of it one piece takes, cubic metres, without waste."""
    volumes: dict[str, Decimal] = {}
    for part in layout.all_parts:
        wood = layout.wood_of(part)
        sides = (Decimal(repr(float(side))) for side in (part.length, part.width, part.thickness))
        volumes[wood] = volumes.get(wood, Decimal(0)) + part.count * prod(sides, start=Decimal("1e-9"))
    return tuple(sorted((wood, float(volume)) for wood, volume in volumes.items()))


def _carved(
    key: str, name: str, judged: Sequence[tuple[Carving, Proof]], personalised: Mapping[str, int]
) -> CarvedSlat:
    """All carvings of one slat of a line together: the same art on all pieces, or other art on each."""
    here = [(carving, proof) for carving, proof in judged if carving.slat_key == key]
    minutes = sum(
        (Decimal(repr(proof.check["figures"]["minutes"])) * proof.pieces for _, proof in here), Decimal(0)
    )
    return CarvedSlat(
        key,
        name,
        sum(proof.pieces for _, proof in here),
        float(minutes),
        sum(personalised.get(carving.id, 0) for carving, _ in here),
    )
