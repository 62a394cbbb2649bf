"""The shop's own numbers: a test board with a simulated shop's readings, and two programs held against a proof."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import numpy as np

from artwork.testboard.design import lay_out
from artwork.testboard.features import Blank
from artwork.testboard.simulated import any_shop, measured
from artwork.workpiece import Allowances, Bit
from seeds.demo.door import Door
from seeds.demo.stand_in import program
from seeds.demo.telling import Teller

SHOP_SEED = 7
TOLD = ("angle_deg", "tip_flat", "sanding", "zero_error", "least_depth", "land-0-32", "land-90-32")
_WORDS = {
    "angle_deg": "the bit cuts like one of {}°",
    "tip_flat": "its tip is {} mm flat",
    "sanding": "{} mm are sanded off",
    "zero_error": "the zero stood {} mm too high",
    "least_depth": "95 of 100 grooves read at {} mm",
    "land-0-32": "95 of 100 lands of 32 mm along the grain stand at {} mm",
    "land-90-32": "across the grain at {} mm",
}


def measure_the_shop(maker: Door, out: Path, teller: Teller) -> dict[str, Any]:
    """A test board, measured by a simulated shop; what it says."""
    with teller.step("test board", "the maker makes a test board and measures it (a simulated shop does)"):
        made = maker.send("/test-boards", {"bit_key": "v60"})
        for form, name in (("svg", "test-board.svg"), ("dxf", "test-board.dxf"), ("sheet", "test-board.pdf")):
            (out / name).write_bytes(maker.get_bytes(f"/test-boards/{made['id']}/drawing.{form}"))
        rng = np.random.default_rng(SHOP_SEED)
        plan = lay_out(Blank(), Bit("v60"), Allowances()).plan
        readings = {"readings": measured(plan, any_shop(rng), rng)}
        maker.send(f"/test-boards/{made['id']}/readings", readings)
        fitted = maker.get(f"/test-boards/{made['id']}/fit")
    teller.say(f"about {made['minutes']:.0f} minutes of carving; {len(readings['readings'])} readings say:")
    figures = {figure["key"]: figure for figure in fitted["figures"]}
    for key in TOLD:
        if key in figures:
            value, low, high = (f"{figures[key][name]:.2f}" for name in ("value", "low", "high"))
            teller.say(f"– {_WORDS[key].format(value)} ({low} to {high})")
    for change in fitted["changes"]:
        if change["today"] != change["proposed"]:
            teller.say(f"– proposed: {change['name']} {change['today']:g} → {change['proposed']:g}")
    return {"board": made["id"], "figures": {key: figures[key] for key in TOLD if key in figures}}


def check_programs(
    maker: Door, carving: dict[str, Any], order_id: str, out: Path, teller: Teller
) -> list[Any]:
    """A good program and a mirrored one, held against what was signed; their pictures."""
    proof = carving["proof"]
    drawing = maker.get_bytes(f"/proofs/{proof['id']}/drawing.dxf")
    checks = []
    for name, mirrored in (("good", False), ("mirrored", True)):
        data = program(drawing, 60.0, 0.15, proof["check"]["figures"]["depth_limit"], mirrored=mirrored)
        (out / f"{name}.nc").write_bytes(data)
        with teller.step(f"check {name}.nc", f"holds the program {name}.nc against what was signed"):
            path = f"/orders/{order_id}/program-checks"
            check = maker.upload(path, f"{name}.nc", data, "text/plain", carving["id"])
        (out / f"program-{name}.png").write_bytes(maker.get_bytes(check["picture_url"]))
        teller.say(check["sentence"])
        checks.append({name: check[name] for name in ("name", "outcome", "sentence", "program", "digest")})
    teller.say("A check is no word that a program may be run.")
    return checks
