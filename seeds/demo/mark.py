"""The workshop's own mark: drawn in a draft of its own, looked at, approved once."""

from __future__ import annotations

from seeds.demo.door import Door, wait_for
from seeds.demo.order_suites import AT_WORK, shown_of
from seeds.demo.telling import Teller
from seeds.shop import Shop

MODEL, SLAT, FILE = "longwalk-bench", "back-rail", "mark.svg"


def approve_own_mark(maker: Door, shop: Shop, teller: Teller) -> None:
    """From the file to the approved mark; ``maker`` is signed in."""
    with teller.step("own mark", "the maker draws the workshop's own mark on the back rail and approves it"):
        lines = [{"model_key": MODEL, "quantity": 1, "slats": [SLAT]}]
        draft = maker.send(f"/workshops/{shop.key}/orders", {"lines": lines, "rights_granted": True})["order"]
        (carving,) = draft["lines"][0]["carvings"]
        data = shop.artwork(FILE).data
        maker.upload(f"/orders/{draft['id']}/artworks", FILE, data, "image/svg+xml", carving["id"])
        judged = wait_for(
            lambda: maker.get(f"/carvings/{carving['id']}"),
            lambda found: found["state"] not in AT_WORK,
            "reading and checking the mark",
        )
        mark = maker.send("/settings/marks", shown_of(judged))
        seen = {"digest": mark["digest"], "picture": mark["picture"]}
        maker.send(f"/settings/marks/{mark['id']}/approval", seen)
    teller.say(f"{mark['sentence']} It goes on every bench that is released from now on.")
