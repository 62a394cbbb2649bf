"""Art that cannot be carved however it is changed: a clear answer in time, on the page, by REST and by GraphQL."""

from __future__ import annotations

import time

import pytest

from artwork.axis import study
from artwork.cut import Cut
from artwork.errors import EngineError
from artwork.findings import check
from artwork.intake import read_artwork
from artwork.placing import largest_fit
from artwork.repair import Budget, repairs
from seeds.shop import load
from tests.running import FROM_HERE, Caller, Json, Running, carvings
from tests.waiting import until

SECONDS, LAST_STEP = 1.0, 8.0
"""Of a processor: what repair is given here, and what the check and the step it is at when that is over may take."""


def drawn(d: str, **how: str) -> bytes:
    given = "".join(f' {name.replace("_", "-")}="{value}"' for name, value in how.items())
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 100 100"><path d="{d}"{given}/></svg>'.encode()
    )


def dot(x: float, y: float, r: float) -> str:
    return f"M{x + r:.2f} {y:.2f}a{r} {r} 0 1 0 .01 0z"


SQUARES = "".join(f"M{x * 0.7:.1f} {y * 0.7:.1f}h.3v.3h-.3z" for y in range(142) for x in range(141))
DOTS = "".join(dot(2.4 * (x + 0.5 * (y % 2)), 2.4 * y, 0.5) for y in range(40) for x in range(40))
NET = "".join(f"M0 {k}L100 {100 - k}M{k} 0L{100 - k} 100" for k in range(0, 101, 4))
BOW = "M10 10L50 50L90 10L90 90L50 50L10 90ZM20 30h10v10h-10zM30 40h10v10h-10z"
HARD = {
    "hairlines": drawn("M5 5L95 95M5 95L95 5M5 50H95", stroke="#000", stroke_width=".05", fill="none"),
    "20,000 tiny parts": drawn(SQUARES),
    "one dot": drawn(dot(50, 50, 1)),
    "one letter": drawn("M47 10h6v30h10v3h-10v30h-3v-63z"),
    "lace": drawn(NET, stroke="#000", stroke_width=".4", fill="none"),
    "halftone": drawn(DOTS),
    "rings that touch themselves": drawn(BOW, fill_rule="evenodd"),
}
SHOP = load()
NARROW = SHOP.model("fernhollow-chair").slat("back-outer-left")


@pytest.mark.parametrize("name", HARD)
def test_repair_has_an_answer_in_time(name):
    began = time.thread_time()
    try:
        outline = read_artwork(HARD[name], f"{name}.svg").outline
    except EngineError as refusal:
        assert refusal.message and refusal.cure
        return
    placed = largest_fit(outline, NARROW, SHOP.allowances)
    cut = Cut(outline, NARROW, placed, SHOP.bits[0], SHOP.allowances)
    anatomy = study(outline)
    answer = repairs(cut, anatomy, SHOP.bits[1:], Budget(SECONDS))
    assert time.thread_time() - began < SECONDS + LAST_STEP
    if check(cut, anatomy).verdict == "will-not-carve" and not answer.repairs:
        assert answer.reason is not None and answer.reason.sentence and answer.reason.helps
    for each in answer.repairs:
        assert each.check.verdict != "will-not-carve" and each.likeness.least >= 0.9


def offer_of(client: Caller, carving: str) -> Json:
    return client.do("GET", f"/carvings/{carving}/versions")


def test_pages_rest_and_graph_say_the_same_of_it(running: Running):
    line = {"model_key": "fernhollow-chair", "quantity": 1, "slats": ["back-outer-left"]}
    placed = running.caller().send_order(lines=[line])
    client, order = running.caller(placed["link_token"]), placed["order"]["id"]
    carving = carvings(placed["order"])[0]["id"]
    client.upload(order, "net.svg", HARD["lace"], [carving])
    proof = carvings(client.settled(order))[0]["proof"]
    assert proof["verdict"] == "will-not-carve"
    until(lambda: offer_of(client, carving)["state"] == "ready")
    reason = offer_of(client, carving)["reason"]
    assert reason["sentence"] and "The maker can redraw this part." in reason["helps"]
    query = "query($id: ID!) { versions(carvingId: $id) { state reason { sentence helps } } }"
    graph = client.post("/graphql", json={"query": query, "variables": {"id": carving}}).json()
    assert graph["data"]["versions"]["reason"] == {"sentence": reason["sentence"], "helps": reason["helps"]}
    browser = running.caller(headers=FROM_HERE)
    page = browser.get(f"/link/{placed['link_token']}", follow_redirects=True)
    for text in (page.text, running.maker().get(f"/bench/orders/{order}").text):
        assert (
            "No version keeps enough of the drawing" in text and "A simpler version of this drawing" in text
        )
    assert "Ask the workshop to redraw it" in page.text
