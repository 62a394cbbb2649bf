"""What a client is told by mail of their own signature."""

from __future__ import annotations

from hashlib import sha256

from service.orders.letters import LetterKind
from service.usecases.answers import OrderAggregate
from service.usecases.opened import OpenOrder
from service.usecases.order_aggregate import read_aggregate
from service.usecases.pricing import Agreed

_MOST_TOLD = 40
"""Slats that a receipt names one by one; the page has them all."""


def send_receipt(opened: OpenOrder, agreed: Agreed | None) -> None:
    """Tell the client by mail what was signed, in words that stay when the page goes on."""
    whole = read_aggregate(opened.connection, opened.reach, opened.order)
    said = []
    for line in whole.lines:
        model = opened.settings.model(line.model_key)
        names = dict.fromkeys(opened.slat_name(c) for c in whole.carvings if c.line_id == line.id)
        name = line.model_key if model is None else model.layout.name
        said.append(f"{line.quantity} × {name}: {', '.join(list(names)[:_MOST_TOLD])}.")
    accepted = sum(len(proof.waived) for proof in whole.proofs)
    price = "" if agreed is None else agreed.words
    opened.write(
        LetterKind.SIGNED, about=_signature(whole, agreed), lines=said, price=price, accepted=accepted
    )


def _signature(whole: OrderAggregate, agreed: Agreed | None) -> str:
    """Names what was signed: the same signed once more brings no second letter."""
    proofs = ",".join(sorted(proof.id for proof in whole.proofs))
    return sha256(f"{proofs}:{'' if agreed is None else agreed.digest}".encode()).hexdigest()[:32]
