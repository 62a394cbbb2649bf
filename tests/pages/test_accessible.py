"""axe-core finds nothing on any page, light and dark, on a desk and on the narrowest phone, in English and in German,
whose words are longer; text at 200 % still fits."""

from __future__ import annotations

import pytest
from axe_playwright_python.sync_playwright import Axe

from tests.pages.browsing import DESKTOP, PHONE
from tests.pages.orders import opened, suites_order
from tests.pages.steps import BENCH, order_of, ready, say_art_may_be_used, sign, sign_in, start

pytestmark = pytest.mark.browser

AXE = Axe()
NARROWEST = PHONE | {"viewport": {"width": 320, "height": 640}}
"""As narrow as WCAG 2.2 asks a page to fit without scrolling sideways (1.4.10)."""
# The rules of WCAG 2.0 to 2.2, levels A and AA, and axe's own best practices.
RULES = {
    "runOnly": {
        "type": "tag",
        "values": ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice"],
    },
    "resultTypes": ["violations"],  # what passes is judged all the same, and not told at length
}


def faults(page) -> list[str]:
    found = AXE.run(page, options=RULES).response["violations"]
    return [
        f"{page.url}: {one['id']}: {one['help']}: {node['html'][:160]} {node.get('failureSummary', '')[:200]}"
        for one in found
        for node in one["nodes"]
    ]


@pytest.fixture(scope="module")
def pages(browser, running):
    """One client's order with findings, one that is signed, one with names and a large picture, and the bench."""
    from tests.pages.browsing import person

    client, maker = person(browser, running.url), person(browser, running.url)
    bad = order_of(ready(start(client, art="thin.png")))
    page = ready(start(client))
    good = order_of(page)
    say_art_may_be_used(page)
    sign(page)
    carving = page.locator("section[id^=carving-]").first.get_attribute("id").removeprefix("carving-")
    proof = page.locator("[data-proof]").first.get_attribute("data-proof")
    many = suites_order(running)
    opened(client, many)
    sign_in(maker)
    states = client.context.storage_state(), maker.context.storage_state()
    client.leave()
    maker.leave()
    orders = {"bad": bad, "good": good, "many": many.id, "carving": carving, "proof": proof}
    return {**orders, "client": states[0], "maker": states[1]}


CLIENT = [
    "/at/oxbarrow",
    BENCH,
    "/order/{bad}",
    "/order/{bad}/proof",
    "/order/{bad}/pieces",
    "/order/{bad}/pieces?add=fernhollow-chair",
    "/order/{good}",
    "/order/{good}/proof",
    "/order/{good}/carvings/{carving}/placement",
    "/order/{many}",
    "/order/{many}/proof",
    "/order/{many}/lists",
]
MAKER = [
    "/bench",
    "/bench/orders/{bad}",
    "/bench/orders/{good}",
    "/bench/orders/{many}",
    "/bench/orders/{good}/compare?carving={carving}",
    "/bench/orders/{good}/carvings/{carving}/changes?x=0&y=215",
    "/bench/proofs/{proof}/section?x=0&y=215",
    "/bench/batches",
    "/bench/record?check=yes",
    "/bench/people",
    "/bench/wellness",
    "/bench/settings",
    "/bench/settings/marks",
    "/bench/settings/machine",
    "/bench/settings/prices",
    "/bench/settings/models/longwalk-bench?slat=back-centre",
    "/bench/settings/models",
    "/bench/first",
    "/bench/today",
]
REFUSED = ["/link/splink_wrong", "/nowhere", "/at/oxbarrow/none", "/order/{good}"]
NOBODY = [
    "/bench/sign-in",
    "/bench/forgotten",
    "/lost-link",
    *REFUSED,
    "/reference",
    "/problems",
    "/problems/not-current",
]
PEOPLE = pytest.mark.parametrize(
    ("who", "paths"),
    [("client", CLIENT), ("maker", MAKER), ("nobody", NOBODY)],
    ids=["client", "maker", "nobody"],
)


@pytest.mark.parametrize(
    ("size", "colours", "locale"),
    [
        pytest.param(DESKTOP, "light", "en-GB", id="desktop-light-English"),
        pytest.param(DESKTOP, "dark", "de-DE", id="desktop-dark-German"),
        pytest.param(PHONE, "dark", "en-GB", id="phone-dark-English"),
        pytest.param(NARROWEST, "light", "de-DE", id="narrowest-light-German"),
    ],
)
@PEOPLE
def test_axe_finds_nothing(somebody, pages, who, paths, size, colours, locale):
    state = {"storage_state": pages[who]} if who in pages else {}
    one = somebody(color_scheme=colours, locale=locale, **size, **state)
    page = one.page()
    found = []
    for path in paths:
        page.goto(one.base + path.format(**pages))
        page.evaluate("document.querySelectorAll('details').forEach((one) => { one.open = true; })")
        found += faults(page)
        wide = page.evaluate("document.documentElement.scrollWidth - document.documentElement.clientWidth")
        if wide > 0:
            found.append(f"{page.url}: scrolls sideways by {wide} px")
    looked_for(one, who, pages)
    assert found == []


@pytest.mark.parametrize("size", [DESKTOP, PHONE], ids=["desktop", "phone"])
def test_the_long_pages_of_the_reference_are_sound_too(somebody, size):
    """Their many alike entries would keep axe busy for minutes: it looks at the first of them."""
    one = somebody(**size)
    page = one.page()
    for path in ("/reference/rest", "/reference/graphql"):
        page.goto(one.base + path)
        assert page.evaluate("document.documentElement.scrollWidth <= document.documentElement.clientWidth")
        page.evaluate("document.querySelectorAll('article ~ article').forEach((more) => more.remove())")
        assert faults(page) == []


def looked_for(one, who, pages) -> None:
    """The browser notes a page that is refused; anything else that it could not have is a fault."""
    refused = tuple(f"{one.base}{path.format(**pages)}: " for path in REFUSED) if who == "nobody" else ()
    one.watched.errors = [
        error for error in one.watched.errors if not (refused and error.startswith(refused))
    ]


@PEOPLE
def test_text_at_twice_the_size_stays_on_the_page(somebody, pages, who, paths):
    state = {"storage_state": pages[who]} if who in pages else {}
    one = somebody(viewport={"width": 640, "height": 900}, locale="de-DE", **state)
    page = one.page()
    for path in paths:
        page.goto(one.base + path.format(**pages))
        page.evaluate("document.documentElement.style.fontSize = '200%'")
        hidden = page.evaluate(
            """() => [...document.querySelectorAll("h1, h2, p, button, a.button, label")].filter((one) => {
                 const box = one.getBoundingClientRect();
                 return box.width > 1 && !one.closest(".unseen, .slat-box") && box.right > innerWidth + 1;
               }).map((one) => one.textContent.trim().slice(0, 60))"""
        )
        assert hidden == [], page.url
    looked_for(one, who, pages)
