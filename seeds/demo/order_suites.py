"""What belongs together in the demo's order: chairs with names, and a crest over several slats."""

from __future__ import annotations

from collections.abc import Iterable
from pathlib import Path
from typing import Any

from seeds.demo.door import Door, wait_for
from seeds.demo.telling import Teller

NAMES = "Imke\nCorvin\nRosa\nEbène\nAldous\nBirgit\nZoë\nJo Quill"
"""One chair each for the gardeners of Quillfern."""
ACROSS = ("back-left-2", "back-left-1", "back-centre")
"""Slats of one bench that the crest runs over."""
AT_WORK = ("reading", "checking")


class Wholes:
    """The order's list of names and its large picture, as its client sees them."""

    def __init__(self, client: Door, order_id: str, teller: Teller) -> None:
        self._client, self._order_id, self._teller = client, order_id, teller

    def name_chairs(self, line: int, out: Path) -> None:
        """A name on the front of every chair of a line; the contact sheet is kept in ``out``."""
        order = self._order()
        ask = {
            "line_id": order["lines"][line]["id"],
            "slat_key": "seat-front",
            "rule": {"typeface": "heebo-bold", "cap_height": 36, "least_cap_height": 25, "tracking": 0.06},
            "texts": NAMES,
        }
        with self._teller.step("names", f"lists a name for each of {len(NAMES.splitlines())} chairs"):
            self._client.send(f"/orders/{self._order_id}/names", ask, "PUT", order["revision"])
            suite = self._made("names")
            (out / "contact-sheet.pdf").write_bytes(self._client.get_bytes(suite["sheet_url"]))
        self._teller.say(f"{suite['sentence']} All of them on {out}/contact-sheet.pdf")

    def lay_across(self, line: int, reading_id: str) -> None:
        """The picture that was read, over several slats of a line."""
        order = self._order()
        ask = {
            "line_id": order["lines"][line]["id"],
            "reading_id": reading_id,
            "slats": list(ACROSS),
            "without_slivers": True,
        }
        with self._teller.step("across", "lays the crest over three slats of one more bench"):
            self._client.send(f"/orders/{self._order_id}/across", ask, "PUT", order["revision"])
            suite = self._made("across")
        for words in (suite["sentence"], *suite["made"]["notes"]):
            self._teller.say(words)

    def accept_remarks(self) -> None:
        """Accept every remark of all of them, by kind."""
        for suite in self.all():
            if suite["remarks"]:
                ask = {"whole": _whole(suite), "kinds": list(suite["remarks"])}
                self._client.send(f"/orders/{self._order_id}/suite-waivers", ask)

    def all(self) -> list[dict[str, Any]]:
        """The list and the picture as they are now."""
        found: list[dict[str, Any]] = self._client.get(f"/orders/{self._order_id}/suites")["items"]
        return found

    def alone(self, carvings: Iterable[dict[str, Any]]) -> list[dict[str, Any]]:
        """The carvings that belong to neither."""
        together = {part["carving_id"] for suite in self.all() for part in suite["parts"]}
        return [carving for carving in carvings if carving["id"] not in together]

    def decided(self) -> dict[str, Any]:
        """Everything of the order, as a decision names it."""
        carvings = (carving for line in self._order()["lines"] for carving in line["carvings"])
        return {
            "shown": [shown_of(carving) for carving in self.alone(carvings)],
            "whole": [_whole(suite) for suite in self.all()],
        }

    def _order(self) -> Any:
        return self._client.get(f"/orders/{self._order_id}")

    def _made(self, kind: str) -> dict[str, Any]:
        def ask() -> dict[str, Any]:
            return next(suite for suite in self.all() if suite["kind"] == kind)

        def done(suite: dict[str, Any]) -> bool:
            return all(part["state"] not in AT_WORK for part in suite["parts"])

        return wait_for(ask, done, "making and checking all of it")


def shown_of(carving: dict[str, Any]) -> dict[str, str]:
    """A carving's proof, as a decision names it."""
    proof = carving["proof"]
    return {"carving_id": carving["id"], "digest": proof["digest"], "picture": proof["picture"]}


def _whole(suite: dict[str, Any]) -> dict[str, str]:
    return {"suite_id": suite["id"], "digest": suite["digest"]}
