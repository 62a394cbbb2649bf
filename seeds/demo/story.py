"""Quillfern orders benches and chairs, some with names; the workshop takes the order to the bench."""

from __future__ import annotations

import hashlib
import subprocess
import sys
import zipfile
from dataclasses import dataclass
from datetime import date, timedelta
from pathlib import Path
from typing import Any

import seeds.shop
from seeds.demo.door import CallError, Door, wait_for
from seeds.demo.mark import approve_own_mark
from seeds.demo.numbers import check_programs, measure_the_shop
from seeds.demo.order_suites import Wholes, shown_of
from seeds.demo.telling import Teller
from seeds.demo.versions import take_first_version

MODEL = "longwalk-bench"
WEEKS_AHEAD = 20
AT_WORK = ("reading", "checking")


@dataclass(frozen=True)
class Wish:
    """Which drawing goes on which slat of which line."""

    line: int
    slat: str
    artwork: str
    content_type: str


CHAIR = "fernhollow-chair"
LINES = (
    (MODEL, 10, ("back-centre", "back-left-3")),
    (MODEL, 2, ("back-centre",)),
    (CHAIR, 1, ()),
    (MODEL, 1, ()),
    (CHAIR, 30, ("back-centre",)),
)
WISHES = (
    Wish(0, "back-centre", "crest.svg", "image/svg+xml"),
    Wish(1, "back-centre", "scan.jpg", "image/jpeg"),
    Wish(0, "back-left-3", "thin.png", "image/png"),
    Wish(4, "back-centre", "crest.svg", "image/svg+xml"),
)


class Story:
    """The client and the maker, each with their own credentials."""

    def __init__(self, address: str, out: Path, teller: Teller) -> None:
        self._address, self._out, self._teller = address, out, teller
        self._shop = seeds.shop.load()
        self._client = Door(address)
        self._maker = Door(address)
        self._order_id = ""
        self._link = ""

    def tell(self) -> dict[str, Any]:
        """The whole job; the facts of ``summary.json``."""
        self._place()
        for wish in WISHES:
            self._upload(wish)
        self._mend()
        self._wholes = Wholes(self._client, self._order_id, self._teller)
        self._wholes.name_chairs(2, self._out)
        self._wholes.lay_across(3, self._carving(WISHES[0])["reading"]["id"])
        self._offer()
        self._refuse_early_release()
        approve_own_mark(self._maker, self._shop, self._teller)
        self._judge()
        self._sign()
        self._release()
        archive = self._batch()
        self._unpack(archive)
        checks = check_programs(
            self._maker, self._carving(WISHES[0]), self._order_id, self._out, self._teller
        )
        board = measure_the_shop(self._maker, self._out, self._teller)
        return {**self._summary(archive), "programs": checks, "test_board": board}

    # ── the client ──────────────────────────────────────────────────────────────────────────────────

    def _place(self) -> None:
        client = next(person for person in self._shop.people if person.role == "client")
        with self._teller.step("order", f"{client.name} of {client.organisation} orders benches and chairs"):
            body = {
                "contact": {
                    "name": client.name,
                    "email": client.email,
                    "organisation": client.organisation,
                },
                "lines": [
                    {"model_key": model, "quantity": count, "slats": list(slats)}
                    for model, count, slats in LINES
                ],
                "needed_by": (date.today() + timedelta(weeks=WEEKS_AHEAD)).isoformat(),  # noqa: DTZ011 - a wish
                "rights_granted": True,
            }
            made = self._client.send(f"/workshops/{self._shop.key}/orders", body)
        self._order_id, self._link = made["order"]["id"], made["link_token"]
        self._client = Door(self._address, self._link)
        self._teller.say(f"order {made['order']['number']}; the client's page: {self.client_page}")

    def _upload(self, wish: Wish) -> None:
        carving = self._carving(wish)
        data = self._shop.artwork(wish.artwork).data
        with self._teller.step(f"upload {wish.artwork}", f"uploads {wish.artwork} for the {wish.slat}"):
            self._client.upload(
                f"/orders/{self._order_id}/artworks", wish.artwork, data, wish.content_type, carving["id"]
            )
            judged = self._settled(carving["id"])
        self._report(judged)

    def _mend(self) -> None:
        for wish in WISHES:
            carving = self._carving(wish)
            if carving["proof"]["verdict"] == "will-not-carve":
                take_first_version(self._client, carving, wish.artwork, self._teller, self._out)
                self._report(self._settled(carving["id"]))

    def _offer(self) -> None:
        with self._teller.step("submit", "sends the order off and asks for the proofs"):
            order = self._order()
            self._client.send(f"/orders/{self._order_id}/submission", revision=order["revision"])
            self._client.send(f"/orders/{self._order_id}/offers", self._wholes.decided())
        pictures = self._out / "previews"
        pictures.mkdir(exist_ok=True)
        for carving in self._wholes.alone(self._carvings()):
            name = f"line-{carving['line']}-{carving['slat_key']}.png"
            (pictures / name).write_bytes(self._client.get_bytes(carving["proof"]["picture_url"]))
        self._teller.say(f"what will be left is drawn in {pictures}/")

    def _sign(self) -> None:
        with self._teller.step(
            "sign-off", "the client accepts the remarks by name and signs those proofs off"
        ):
            self._wholes.accept_remarks()
            for carving in self._wholes.alone(self._carvings()):
                if carving["proof"]["remarks"]:
                    ask = {"shown": shown_of(carving), "remarks": carving["proof"]["remarks"]}
                    self._client.send("/waivers", ask)
            quote = self._client.get(f"/orders/{self._order_id}/quote")["current"]
            signature = {**self._wholes.decided(), "quote": quote["digest"]}
            self._client.send(f"/orders/{self._order_id}/sign-offs", signature)
        self._teller.say(f"and agrees to the price: {quote['sentence']}")

    # ── the maker ───────────────────────────────────────────────────────────────────────────────────

    def _refuse_early_release(self) -> None:
        maker = next(person for person in self._shop.people if person.role == "maker")
        with self._teller.step("early release", f"{maker.name} tries to release what nobody has signed"):
            self._maker.send("/session", {"email": maker.email, "password": self._shop.password})
            try:
                self._release_shown()
            except CallError as refused:
                reason = str(refused)
            else:
                raise SystemExit("An unsigned order was released: that must never happen.")
        self._teller.say(f"refused, as it must be: {reason}")

    def _judge(self) -> None:
        with self._teller.step("feasibility", "the maker looks at figures and marked places, and approves"):
            body = {**self._wholes.decided(), "words": "Carves on the boards at hand."}
            self._maker.send(f"/orders/{self._order_id}/feasibility", body)

    def _release(self) -> None:
        with self._teller.step("release", "the maker releases the order for production"):
            self._release_shown()

    def _release_shown(self) -> None:
        body = self._wholes.decided()
        self._maker.send(f"/orders/{self._order_id}/release", body, revision=self._order()["revision"])

    def _batch(self) -> Path:
        with self._teller.step("batch", "the maker takes the batch"):
            batch = self._maker.send("/batches", {"order_ids": [self._order_id]})
            batch = wait_for(
                lambda: self._maker.get(f"/batches/{batch['id']}"),
                lambda found: found["archive_url"] is not None or found["state"] == "failed",
                "the batch",
            )
            if batch["archive_url"] is None:
                raise SystemExit(f"The batch could not be made: {batch}")
            archive = self._out / "batch.zip"
            archive.write_bytes(self._maker.get_bytes(batch["archive_url"]))
        with self._teller.step("verify", "checks the archive offline, with nothing but the archive"):
            check = subprocess.run(
                [sys.executable, "-m", "service.cli", "verify", str(archive)],
                capture_output=True,
                text=True,
                check=False,
            )
        for line in (check.stdout + check.stderr).splitlines():
            self._teller.say(line)
        if check.returncode != 0:
            raise SystemExit("The archive does not verify.")
        return archive

    def _unpack(self, archive: Path) -> None:
        """What a maker cuts from, as files in one folder: sheets, beds, labels, and every carving's drawings."""
        folder = self._out / "to-cut"
        with zipfile.ZipFile(archive) as opened:
            for name in opened.namelist():
                inside = name.partition("/data/")[2]
                if inside.startswith("order-"):
                    file = folder / inside
                    file.parent.mkdir(parents=True, exist_ok=True)
                    file.write_bytes(opened.read(name))
        beds = len(list(folder.glob("*/bed-*.dxf")))
        self._teller.say(
            f"to cut from: {folder}/ (job sheet, {beds} beds, labels, packing list, list of parts)"
        )

    # ── looking ─────────────────────────────────────────────────────────────────────────────────────

    @property
    def client_page(self) -> str:
        """Where the client sees the order."""
        return f"{self._address}/link/{self._link}"

    def _order(self) -> Any:
        return self._client.get(f"/orders/{self._order_id}")

    def _carvings(self) -> list[dict[str, Any]]:
        """Every carving, with the number of its line and the name of its file."""
        order = self._order()
        names = {artwork["id"]: artwork["name"] for artwork in order["artworks"]}
        return [
            {**carving, "line": line["position"], "artwork": names.get(carving["artwork_id"])}
            for line in order["lines"]
            for carving in line["carvings"]
        ]

    def _carving(self, wish: Wish) -> dict[str, Any]:
        """The carving of a wish; a version may have moved it to another slat."""
        line = self._order()["lines"][wish.line]["id"]
        here = [carving for carving in self._carvings() if carving["line_id"] == line]
        by_art = [carving for carving in here if carving["artwork"] == wish.artwork]
        return (by_art or [carving for carving in here if carving["slat_key"] == wish.slat])[0]

    def _settled(self, carving_id: str) -> dict[str, Any]:
        def ask() -> dict[str, Any]:
            found: dict[str, Any] = self._client.get(f"/carvings/{carving_id}")
            return found

        return wait_for(ask, lambda found: found["state"] not in AT_WORK, "reading and checking")

    def _report(self, carving: dict[str, Any]) -> None:
        if carving["trouble"]:
            raise SystemExit(f"{carving['trouble']['message']} {carving['trouble']['cure']}")
        check = carving["proof"]["check"]
        self._teller.say(f"{check['verdict'].replace('-', ' ')}: {check['sentence']}")
        for finding in check["findings"][:3]:
            self._teller.say(f"– {finding['message']}")
        if len(check["findings"]) > 3:
            self._teller.say(f"– and {len(check['findings']) - 3} more, marked in the picture")

    def _summary(self, archive: Path) -> dict[str, Any]:
        return {
            "order": self._order_id,
            "carvings": [_facts(carving) for carving in self._carvings()],
            "wholes": [suite["sentence"] for suite in self._wholes.all()],
            "archive": str(archive),
            "archive_sha256": hashlib.sha256(archive.read_bytes()).hexdigest(),
            "seconds": self._teller.seconds,
        }


def _facts(carving: dict[str, Any]) -> dict[str, Any]:
    figures = carving["proof"]["check"]["figures"]
    return {
        "artwork": carving["artwork"],
        "slat": carving["slat_key"],
        "verdict": carving["proof"]["verdict"],
        "least_line_mm": figures["least_line"],
        "least_line_required_mm": figures["least_line_required"],
        "programme_depth_mm": figures["depth"],
        "worst_depth_mm": figures["deepest_cut"],
        "size_mm": [figures["width"], figures["height"]],
        "proof": carving["proof"]["digest"],
    }
