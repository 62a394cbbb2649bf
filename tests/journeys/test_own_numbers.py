"""The demo's part about a shop's own numbers, against a running service: a board fitted, two programs told apart."""

from __future__ import annotations

import seeds.shop
from seeds.demo.door import Door
from seeds.demo.numbers import check_programs, measure_the_shop
from seeds.demo.telling import Teller
from tests.pages.test_items import released


def test_a_simulated_shop_is_measured_and_a_mirrored_program_told(running, tmp_path):
    order = released(running)
    shop = seeds.shop.load()
    maker = Door(running.url)
    person = next(each for each in shop.people if each.role == "maker")
    maker.send("/session", {"email": person.email, "password": shop.password})
    carving = next(each for line in order["lines"] for each in line["carvings"])
    checks = check_programs(maker, carving, order["id"], tmp_path, Teller())
    assert [each["outcome"] for each in checks] == ["cuts-what-was-signed", "differs"]
    assert "mirrored" in checks[1]["sentence"] and checks[0]["program"] != checks[1]["program"]
    board = measure_the_shop(maker, tmp_path, Teller())
    assert {"angle_deg", "sanding", "land-90-32"} <= set(board["figures"])
    maker._client.close()
    kept = {path.name for path in tmp_path.iterdir()}
    assert kept >= {
        "test-board.svg",
        "test-board.dxf",
        "test-board.pdf",
        "program-good.png",
        "program-mirrored.png",
    }
