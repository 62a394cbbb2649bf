"""Issue 7: three hundred names in one order, all the way through a running service."""

from __future__ import annotations

import base64
import io
import os
import time
import zipfile

from tests.bench.bench_runs import PIECES, names
from tests.bench.harness import Measured, case
from tests.bench.service_shop import shop
from tests.running import Caller, Json, Running, revision

LINES = [{"model_key": "fernhollow-chair", "quantity": 1, "slats": []}]
RULE = {"typeface": "heebo-bold", "cap_height": 36, "least_cap_height": 25}
RULE |= {"tracking": 0.06, "least_tracking": 0.06}
WITHIN = 600.0


class _Stopwatch:
    """Seconds of each step, in the order taken."""

    def __init__(self) -> None:
        self.steps: dict[str, float] = {}
        self._since = time.perf_counter()

    def lap(self, step: str) -> None:
        now = time.perf_counter()
        self.steps[step], self._since = now - self._since, now

    @property
    def note(self) -> str:
        return ", ".join(f"{step} {taken:.1f} s" for step, taken in self.steps.items())


@case(
    issue=7, name="300 names from CSV to contact sheet, through a running service", n="1 order", target=30.0
)
def names_through_the_service() -> Measured:
    """From sending the table to holding the sheet; the note has the rest of the order's way to its batch."""
    with shop(compute=os.cpu_count() or 1) as running:  # as a service is installed
        watch = _Stopwatch()
        client, order, suite = _set_names(running, watch)
        path = f"/orders/{order['id']}"
        sheet = client.get(f"/api/v1/suites/{suite['id']}/sheet.pdf")
        assert sheet.content.startswith(b"%PDF"), sheet.text[:300]
        watch.lap("sheet")
        asked = sum(watch.steps.values())
        batch = _to_the_batch(running, client, path, suite, watch)
    with zipfile.ZipFile(io.BytesIO(batch)) as archive:
        drawn = sum(name.endswith("art.dxf") for name in archive.namelist())
    assert drawn == PIECES, drawn
    return Measured(asked, note=f"{watch.note}; {len(batch) / 1e6:.0f} MB in {len(archive.namelist())} files")


@case(issue=17, name="300 names, table to contact sheet in relief, running service", n="1 order", target=10.0)
def names_in_relief() -> Measured:
    """The same, with the figure that is aimed at since pieces are shown as they will be left."""
    return names_through_the_service()


def _set_names(running: Running, watch: _Stopwatch) -> tuple[Caller, Json, Json]:
    """A client, the order and the run, once every piece is judged."""
    placed = running.caller().send_order(lines=LINES)
    client, order = running.caller(placed["link_token"]), placed["order"]
    table = "name;seat\r\n" + "".join(f"{name};{row}\r\n" for row, name in enumerate(names(PIECES), 1))
    body = {"line_id": order["lines"][0]["id"], "slat_key": "seat-front", "rule": RULE}
    body |= {"table": base64.b64encode(table.encode("utf-8-sig")).decode(), "columns": ["name"]}
    watch.lap("order")
    client.do("PUT", f"/orders/{order['id']}/names", json=body, headers=revision(order))
    watch.lap("list taken")
    client.settled(order["id"], seconds=WITHIN)
    watch.lap("judged")
    (suite,) = client.do("GET", f"/orders/{order['id']}/suites")["items"]
    return client, order, suite


def _to_the_batch(running: Running, client: Caller, path: str, suite: Json, watch: _Stopwatch) -> bytes:
    maker = running.maker()
    whole = {"whole": [{"suite_id": suite["id"], "digest": suite["digest"]}]}
    client.do("POST", f"{path}/submission", headers=revision(client.do("GET", path)))
    client.do("POST", f"{path}/offers", json=whole)
    if suite["remarks"]:
        ask = {"whole": whole["whole"][0], "kinds": list(suite["remarks"])}
        client.do("POST", f"{path}/suite-waivers", json=ask)
    client.do("POST", f"{path}/sign-offs", json=whole | {"quote": client.quote(path.rsplit("/", 1)[1])})
    order = maker.do("POST", f"{path}/feasibility", json=whole)
    maker.do("POST", f"{path}/release", json=whole, headers=revision(order))
    watch.lap("signed to released")
    batch = maker.archived([order["id"]], seconds=WITHIN)
    data = maker.get(batch["archive_url"]).content
    watch.lap("batch")
    return data
