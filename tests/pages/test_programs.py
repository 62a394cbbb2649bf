"""A program sent from the bench: the outcome with its picture, what was not compared, and a clear no."""

from __future__ import annotations

import pytest
from playwright.sync_api import expect

from tests.artwork.program.toolpaths import v_carving, written
from tests.own_numbers.programs import art_of
from tests.pages.steps import sign_in
from tests.pages.test_accessible import faults
from tests.pages.test_items import keep, released
from tests.running import API

pytestmark = pytest.mark.browser


def test_a_good_and_a_mirrored_program_are_told_apart(somebody, running):
    order = released(running)
    maker = running.maker()
    carving = next(c for line in order["lines"] for c in line["carvings"])
    drawing = maker.get(f"{API}/proofs/{carving['proof']['id']}/drawing.dxf").content
    figures = carving["proof"]["check"]["figures"]
    paths = v_carving(art_of(drawing), 60.0, 0.15, figures["depth_limit"], level=0.1)
    one = somebody()
    page = sign_in(one)
    page.goto(f"{running.url}/bench/orders/{order['id']}")
    page.get_by_role("link", name="Check a program").click()
    expect(page.get_by_text("No program has been checked")).to_be_visible()

    def send(lines: list[str], name: str) -> None:
        data = "\n".join(lines).encode()
        page.get_by_label("File with G-code").set_input_files(
            {"name": name, "mimeType": "text/plain", "buffer": data}
        )
        page.get_by_role("button", name="Check it").click(no_wait_after=True)

    send(written(paths), "crest.nc")
    expect(page.get_by_text("This program cuts what was signed", exact=False)).to_be_visible(timeout=120_000)
    expect(
        page.get_by_text("A check is no word that a program may be run", exact=False).first
    ).to_be_visible()
    assert "safe to run" not in page.content()
    assert faults(page) == []
    keep(page, "program-good")
    send(written(paths, change=lambda points: points * [-1, 1, 1]), "mirrored.nc")
    expect(page.get_by_text("it is mirrored", exact=False)).to_be_visible(timeout=120_000)
    page.wait_for_function("[...document.images].every(image => image.complete)")
    keep(page, "program-mirrored")
    send(["G0 X0 Y0 Z5", "G1 Z-1 F100", "#3=1", "M2"], "own.nc")
    expect(page.get_by_text("line 3, word #3=1", exact=False)).to_be_visible()
    one.watched.errors.clear()  # the browser notes the 422 that was looked for
    checks = maker.do("GET", f"/orders/{order['id']}/program-checks")["items"]
    assert [check["outcome"] for check in checks] == ["differs", "cuts-what-was-signed"]
    sheet = maker.get(f"{API}/orders/{order['id']}/program-checks/sheet")
    assert sheet.content.startswith(b"%PDF")
