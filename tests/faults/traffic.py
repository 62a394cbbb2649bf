"""Orders from placing to their archive, by somebody who tries again until they are answered.

One kind of order is plain (:class:`Order`), one has a list of names beside its crest (:class:`Named`), one is given up:
its links are revoked, it is cancelled and its client erased (:class:`TakenBack`).

What was answered well is written down: that is what must be there afterwards, once.
"""

from __future__ import annotations

import io
import time
import uuid
import zipfile
from collections import Counter
from collections.abc import Callable
from dataclasses import dataclass, field
from hashlib import sha256
from typing import Any

import httpx2

from tests.running import API, FROM_HERE, Json, carvings, shown

AGAIN_SECONDS = 0.25
WORKSHOP, CLIENT = "oxbarrow", "Imke Harrowdale"
LEAVER = "leaver@quillfern.example"
"""Whose mail is forgotten with them, so that it is not looked for."""


class TooLong(Exception):
    """A step was not done in time."""


@dataclass
class Told:
    """What the service said was done, for one order.

    Attributes:
        decisions: kinds of entries that the record must hold, once each.
        at_work: whether its file is being read, or its proof made, at this moment.
        erased: whether its client's particulars and art were erased.
    """

    order_id: str = ""
    uploaded: str = ""
    decisions: list[str] = field(default_factory=list)
    batch: str = ""
    archive: str = ""
    refusals: Counter[int] = field(default_factory=Counter)
    unanswered: int = 0
    at_work: bool = False
    erased: bool = False
    done: bool = False


class Order:
    """One order's way through the service at ``url``; ``go`` takes it, from any number of threads at once."""

    email = "imke@quillfern.example"

    def __init__(self, url: str, maker: dict[str, str], art: bytes, seconds: float = 240.0) -> None:
        self.told = Told()
        self._art = art
        self._key = uuid.uuid4().hex
        self._end = time.monotonic() + seconds
        self._maker = httpx2.Client(base_url=url, headers=FROM_HERE, cookies=maker, timeout=15)
        self._client = httpx2.Client(base_url=url, headers=FROM_HERE, timeout=15)

    def go(self) -> None:
        """From placing the order to taking its archive. Raises TooLong."""
        try:
            self._place()
            self._upload()
            self.told.at_work = True
            self._check()
            self.told.at_work = False
            self._end_it()
            self.told.done = True
        finally:
            self.told.at_work = False
            self._maker.close()
            self._client.close()

    def _check(self) -> None:
        self._until(lambda order: all(each["state"] == "checked" for each in carvings(order)), "checked")

    def _end_it(self) -> None:
        self._decide("submission", self._client, "submission", lambda order: {}, "draft")
        self._decide("offer", self._maker, "offers", self._shown, "checked")
        self._decide("sign-off", self._client, "sign-offs", self._signed, "offered")
        self._decide("feasibility", self._maker, "feasibility", self._shown, "signed")
        self._decide("release", self._maker, "release", self._shown, "submitted")
        self._batch()

    def _shown(self, order: Json) -> Json:
        """What a decision about all of the order names."""
        return {"shown": shown(order)}

    def _place(self) -> None:
        body = {
            "contact": {"name": CLIENT, "email": self.email},
            "lines": [{"model_key": "longwalk-bench", "quantity": 2, "slats": ["back-centre"]}],
            "rights_granted": True,
        }
        headers = {"Idempotency-Key": f"place-{self._key}"}
        # The same visitor asks again: by the maker's session the link would not be the client's.
        placed = self._ask(self._client, "POST", f"/workshops/{WORKSHOP}/orders", json=body, headers=headers)
        self.told.order_id = placed["order"]["id"]
        self._client.headers["Authorization"] = f"Bearer {placed['link_token']}"

    def _upload(self) -> None:
        carving = carvings(self._look())[0]["id"]
        headers = {"Idempotency-Key": f"upload-{self._key}"}
        path = f"/orders/{self.told.order_id}/artworks"
        sent = {"files": {"file": ("crest.svg", self._art)}, "data": {"carvings": carving}}
        self._ask(self._client, "POST", path, headers=headers, **sent)
        self.told.uploaded = sha256(self._art).hexdigest()

    def _decide(
        self, kind: str, who: httpx2.Client, verb: str, body: Callable[[Json], Json], before: str
    ) -> None:
        """Decide, again and again while the order is as it was before; its being past that is an answer too."""
        while True:
            order = self._look()
            if before not in (order["state"], carvings(order)[0]["state"]):
                break
            headers = {"If-Match": f'"{order["revision"]}"'}
            path = f"/orders/{self.told.order_id}/{verb}"
            if self._try(who, "POST", path, json=body(order), headers=headers) is not None:
                break
        self.told.decisions.append(kind)

    def _batch(self) -> None:
        headers = {"Idempotency-Key": f"batch-{self._key}"}
        body = {"order_ids": [self.told.order_id]}
        batch = self._ask(self._maker, "POST", "/batches", json=body, headers=headers)
        self.told.batch = batch["id"]
        while batch["state"] == "waiting":
            self._wait()
            batch = self._ask(self._maker, "GET", f"/batches/{batch['id']}")
        if batch["state"] != "ready":
            raise TooLong(f"the batch is {batch['state']}: {batch['message']}")
        while True:
            archive = self._try(self._maker, "GET", f"/batches/{batch['id']}/archive", whole=True)
            if archive is not None and zipfile.is_zipfile(io.BytesIO(archive)):
                self.told.archive = sha256(archive).hexdigest()
                return

    def _signed(self, order: Json) -> Json:
        quote = self._ask(self._client, "GET", f"/orders/{self.told.order_id}/quote")
        return self._shown(order) | {"quote": quote["current"]["digest"]}

    def _look(self) -> Json:
        return self._ask(self._client, "GET", f"/orders/{self.told.order_id}")

    def _until(self, done: Callable[[Json], bool], words: str) -> None:
        while not done(order := self._look()):
            refused = [each["trouble"] for each in carvings(order) if each["state"] == "refused"]
            if refused:
                raise TooLong(f"not {words}: refused: {refused}")
            self._wait()

    def _ask(self, who: httpx2.Client, method: str, path: str, **more: Any) -> Any:
        while (answer := self._try(who, method, path, **more)) is None:
            pass
        return answer

    def _try(self, who: httpx2.Client, method: str, path: str, whole: bool = False, **more: Any) -> Any:
        """One request; ``None``, after a while, where it was not answered well."""
        try:
            answer = who.request(method, API + path, **more)
        except httpx2.TransportError:
            self.told.unanswered += 1
        else:
            if answer.is_success:
                return answer.content if whole else answer.json()
            self.told.refusals[answer.status_code] += 1
            if answer.status_code in (400, 401, 403, 404, 422, 428):
                raise TooLong(f"{method} {path}: {answer.status_code} {answer.text[:300]}")
        self._wait()
        return None

    def _wait(self) -> None:
        if time.monotonic() > self._end:
            raise TooLong(f"order {self.told.order_id or '(not placed)'} after {self.told.decisions}")
        time.sleep(AGAIN_SECONDS)


class Named(Order):
    """An order with a crest, and a name on a slat of each piece; what belongs together is decided as a whole."""

    def _check(self) -> None:
        super()._check()
        while not self._suites():
            order = self._look()
            names = {
                "line_id": order["lines"][0]["id"],
                "slat_key": "back-left-3",
                "rule": {
                    "typeface": "heebo-bold",
                    "cap_height": 36,
                    "least_cap_height": 25,
                    "tracking": 0.06,
                },
                "texts": "Rosa\nEwan",
                "turn_deg": 90,
            }
            path = f"/orders/{self.told.order_id}/names"
            self._try(self._client, "PUT", path, json=names, headers={"If-Match": f'"{order["revision"]}"'})
        super()._check()

    def _shown(self, order: Json) -> Json:
        suites = self._suites()
        together = {part["carving_id"] for suite in suites for part in suite["parts"]}
        alone = [each for each in shown(order) if each["carving_id"] not in together]
        whole = [{"suite_id": suite["id"], "digest": suite["digest"]} for suite in suites]
        return {"shown": alone, "whole": whole}

    def _signed(self, order: Json) -> Json:
        kinds = [
            {"suite_id": suite["id"], "kinds": list(suite["remarks"])}
            for suite in self._suites()
            if suite["remarks"]
        ]
        return super()._signed(order) | {"accepted_together": kinds}

    def _suites(self) -> list[Json]:
        found: list[Json] = self._ask(self._client, "GET", f"/orders/{self.told.order_id}/suites")["items"]
        return found


class TakenBack(Order):
    """An order that is given up: whoever has its links is shut out, it is cancelled, and its client is erased."""

    email = LEAVER

    def _end_it(self) -> None:
        path = f"/orders/{self.told.order_id}"
        self._ask(self._maker, "DELETE", f"{path}/links")
        refused = self._status(self._client, path)
        if refused != 401:
            raise TooLong(f"a revoked link is answered {refused}")
        self._decide_by_maker("cancellation", {"reason": "the pavilion burnt down"}, "cancelled")
        self.told.erased = True  # from when it is asked for: an answer may be lost on the way
        self._decide_by_maker("erasure", None, "cancelled")

    def _decide_by_maker(self, kind: str, body: Json | None, after: str) -> None:
        path = f"/orders/{self.told.order_id}"
        while True:
            order = self._ask(self._maker, "GET", path)
            if order["state"] == after and (kind != "erasure" or not order["contact"]["name"]):
                break
            headers = {"If-Match": f'"{order["revision"]}"'}
            self._try(self._maker, "POST", f"{path}/{kind}", json=body, headers=headers)
        self.told.decisions.append(kind)

    def _status(self, who: httpx2.Client, path: str) -> int:
        """The status of an answer that is none of an outage."""
        while True:
            try:
                status = who.get(API + path).status_code
            except httpx2.TransportError:
                self.told.unanswered += 1
            else:
                if status < 500 and status != 429:
                    return int(status)
                self.told.refusals[status] += 1
            self._wait()


KINDS = (Order, Named, TakenBack)
