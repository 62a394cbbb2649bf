"""A client's whole way through the graph, by a generated client alone: no cast, no type of its own."""

from __future__ import annotations

import json
import sys
import time
from pathlib import Path

import httpx
from shop_client.client import ShopClient
from shop_client.enums import CarvingState
from shop_client.fragments import Whole
from shop_client.input_types import AcceptedInput, ContactInput, LineInput, OrderInput, ShownInput
from shop_client.place_order import PlaceOrderPlaceOrderOrderPlaced
from shop_client.sign_off import SignOffSignOffOrderChanged


def journey(url: str, art: Path) -> dict[str, object]:
    """Place an order, send the art (files go through REST), wait, accept what is remarked, sign."""
    order = OrderInput(
        contact=ContactInput(name="Imke Harrowdale", email="imke@quillfern.example"),
        lines=[LineInput(modelKey="longwalk-bench", quantity=2, slats=["back-centre"])],
        rightsGranted=True,
    )
    placed = ShopClient(f"{url}/graphql").place_order("oxbarrow", order).place_order
    if not isinstance(placed, PlaceOrderPlaceOrderOrderPlaced):
        raise SystemExit(placed.message)
    mine = {"Authorization": f"Bearer {placed.link_token}"}
    carvings = ",".join(carving.id for carving in placed.order.carvings)
    httpx.post(
        f"{url}/api/v1/orders/{placed.order.id}/artworks",
        headers=mine,
        data={"carvings": carvings},
        files={"file": (art.name, art.read_bytes())},
    ).raise_for_status()
    client = ShopClient(f"{url}/graphql", headers=mine)
    whole = settled(client, placed.order.id)
    shown, accepted = [], []
    for carving in whole.carvings:
        if carving.proof is not None:
            seen = ShownInput(
                carvingId=carving.id, digest=carving.proof.digest, picture=carving.proof.picture
            )
            shown.append(seen)
            if carving.proof.remarks:
                accepted.append(AcceptedInput(carvingId=carving.id, remarks=carving.proof.remarks))
    quote = whole.quote.current.digest if whole.quote and whole.quote.current else None
    signed = client.sign_off(whole.id, shown, accepted, quote, whole.revision).sign_off
    if not isinstance(signed, SignOffSignOffOrderChanged):
        raise SystemExit(signed.message)
    return {
        "number": signed.order.number,
        "states": [carving.state.value for carving in signed.order.carvings],
        "depth": min(each.proof.check.figures.deepest_cut for each in signed.order.carvings if each.proof),
    }


def settled(client: ShopClient, order: str) -> Whole:
    """The order once nothing of it is being worked on."""
    while True:
        whole = client.look_at_order(order).order
        if whole is None:
            raise SystemExit("The order is gone.")
        if not {carving.state for carving in whole.carvings} & {CarvingState.READING, CarvingState.CHECKING}:
            return whole
        time.sleep(0.05)


if __name__ == "__main__":
    sys.stdout.write(json.dumps(journey(sys.argv[1], Path(sys.argv[2]))))
