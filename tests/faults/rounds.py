"""Rounds of orders and mishaps over one shape that lives through all of them."""

from __future__ import annotations

import random
import threading
import time
from collections import Counter
from collections.abc import Callable, Iterator, Mapping
from contextlib import closing, contextmanager
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import httpx2
from aiosmtpd.controller import Controller

from seeds.demo.door import Door
from seeds.demo.mark import approve_own_mark
from seeds.demo.telling import Teller
from seeds.shop import load
from tests.faults import mishaps, switches
from tests.faults.checks import losses, place_at
from tests.faults.traffic import KINDS, LEAVER, Order, Told, TooLong
from tests.parts.process import free_port
from tests.parts.shape import Shape
from tests.parts.small import SmallShape, can_mount
from tests.running import API, FROM_HERE, art

ORDERS_AT_ONCE = 1
"""Besides one that begins with each mishap, so that every mishap meets a placing and an upload."""
MOST_MISHAPS = 3
DISK_MB = 2048  # of memory, as far as it is used: room for what some hundred rounds leave
RARE = {"worker stopped past its place": 0.1, "files away for long": 0.1}
"""Mishaps that take long are drawn less often: this share of the usual chance."""


@dataclass
class Found:
    """What rounds came to.

    Attributes:
        mishaps: how often each was done.
        met: how many of them somebody met: a request was refused or not answered meanwhile.
        refused_by: requests that were refused or not answered while each was done.
    """

    rounds: int = 0
    orders: int = 0
    mishaps: dict[str, int] = field(default_factory=dict)
    met: dict[str, int] = field(default_factory=dict)
    refused_by: dict[str, int] = field(default_factory=dict)
    refusals: dict[int, int] = field(default_factory=dict)
    unanswered: int = 0
    mails: int = 0
    losses: list[str] = field(default_factory=list)

    def take_in(self, number: int, felt: list[tuple[str, int]], told: list[Told], bad: list[str]) -> None:
        """Add what one round came to; ``felt`` are its mishaps with the requests that did not get through."""
        self.rounds, self.orders = number, self.orders + len(told)
        for name, requests in felt:
            self.mishaps = _added(self.mishaps, {name: 1})
            self.met = _added(self.met, {name: int(requests > 0)})
            self.refused_by = _added(self.refused_by, {name: requests})
        names = [name for name, _ in felt]
        for each in told:
            self.refusals = _added(self.refusals, each.refusals)
            self.unanswered += each.unanswered
        self.losses += [f"round {number} ({', '.join(names)}): {words}" for words in bad]


def _added(before: Mapping[Any, int], more: Mapping[Any, int]) -> dict[Any, int]:
    return dict(sorted((Counter(before) + Counter(more)).items()))


class Catcher:
    """Takes in mail and counts it by its message."""

    def __init__(self) -> None:
        self.count: Counter[str] = Counter()

    async def handle_DATA(self, _server: object, _session: object, envelope: Any) -> str:
        if envelope.rcpt_tos == [LEAVER]:
            return "250 OK"
        for line in envelope.content.decode(errors="replace").splitlines():
            if line.lower().startswith("message-id:"):
                self.count[line.partition(":")[2].strip().strip("<>").partition("@")[0]] += 1
        return "250 OK"


@contextmanager
def mail() -> Iterator[tuple[str, Catcher]]:
    """A mail server: the setting for it, and what it took in."""
    catcher, port = Catcher(), free_port()
    controller = Controller(catcher, hostname="127.0.0.1", port=port)
    controller.start()
    try:
        yield f"smtp://127.0.0.1:{port}", catcher
    finally:
        controller.stop()


def over_large(home: Path, rounds: int, dice: random.Random, found: Found) -> None:
    """Rounds over PostgreSQL, S3, two web replicas and two workers."""
    clock = switches.clock(home)
    with mail() as (smtp, catcher):
        shape = Shape(home / "large", smtp=smtp, also=switches.environ(clock))
        try:
            shape.start(seed=True)
            known = mishaps.large(shape, clock)
            _rounds(shape.url, shape.environ, known, catcher, rounds, dice, found)
        finally:
            shape.stop()


def over_small(home: Path, rounds: int, dice: random.Random, found: Found) -> None:
    """Rounds over one process on SQLite and a folder."""
    clock, disk = switches.clock(home), switches.disk(home, home / "small" / "data")
    with mail() as (smtp, catcher):
        size = DISK_MB if can_mount() else None
        shape = SmallShape(home / "small", disk_mb=size, smtp=smtp, also=switches.environ(clock, disk))
        try:
            shape.start()
            known = mishaps.small(shape, clock, disk)
            _rounds(shape.url, shape.environ, known, catcher, rounds, dice, found)
        finally:
            shape.stop()


def _rounds(
    url: str,
    environ: Mapping[str, str],
    known: dict[str, mishaps.Mishap],
    catcher: Catcher,
    rounds: int,
    dice: random.Random,
    found: Found,
) -> None:
    maker, drawing = sign_in(url), art("crest.svg")
    _approve_mark(url)
    said: set[str] = set()  # mail that went twice is found again in every later round
    for number in range(1, rounds + 1):
        orders: list[Order] = []
        names = _draw(known, dice)
        began = time.monotonic()
        felt, bad = _round(
            lambda: dice.choice(KINDS)(url, maker, drawing),
            orders,
            [(name, known[name]) for name in names],
            dice,
        )
        through = time.monotonic() - began
        told = [order.told for order in orders]
        with place_at(environ) as place:
            bad += [each for each in losses(place, told, catcher.count) if each not in said]
        said.update(bad)
        found.take_in(number, felt, told, bad)
        found.mails = catcher.count.total()
        print(
            f"round {number}: {', '.join(f'{name} ({met})' for name, met in felt)}: {through:.1f} s, "
            f"checks {time.monotonic() - began - through:.1f} s; losses: {bad or 'none'}",
            flush=True,
        )


def _round(
    place: Callable[[], Order],
    orders: list[Order],
    wrong: list[tuple[str, mishaps.Mishap]],
    dice: random.Random,
) -> tuple[list[tuple[str, int]], list[str]]:
    """The mishaps with the requests that each kept from getting through, and what was not done."""
    bad: list[str] = []
    threads: list[threading.Thread] = []

    def go(order: Order) -> None:
        try:
            order.go()
        except TooLong as late:
            bad.append(f"not done: {late}")
        except Exception as error:  # noqa: BLE001 - whatever it is, it was not promised
            bad.append(f"{type(error).__name__}: {error}")

    def begin() -> None:
        orders.append(place())
        threads.append(threading.Thread(target=go, args=(orders[-1],)))
        threads[-1].start()

    for _ in range(ORDERS_AT_ONCE):
        begin()
    felt = []
    for name, mishap in wrong:
        time.sleep(dice.uniform(0, 1.5))
        met = mishaps.Met(
            lambda: _held_up(orders), lambda: any(order.told.at_work for order in orders), begin
        )
        begin()
        try:
            mishap(dice, met)
        except TimeoutError as nobody:
            bad.append(f"{name}: {nobody}")
        felt.append((name, met.requests))
    for thread in threads:
        thread.join()
    return felt, bad


def _held_up(orders: list[Order]) -> int:
    return sum(order.told.refusals.total() + order.told.unanswered for order in orders)


def _draw(known: dict[str, mishaps.Mishap], dice: random.Random) -> list[str]:
    weights = [RARE.get(name, 1.0) for name in known]
    return dice.choices(list(known), weights, k=dice.randint(1, MOST_MISHAPS))


def _approve_mark(url: str) -> None:
    """The workshop's own mark, which goes on every bench that is released from now on."""
    shop = load()
    person = next(person for person in shop.people if person.role == "maker")
    with closing(Door(url)) as door:
        door.send("/session", {"email": person.email, "password": shop.password})
        approve_own_mark(door, shop, Teller())


def sign_in(url: str) -> dict[str, str]:
    """The cookies of the signed-in maker."""
    person = next(person for person in load().people if person.role == "maker")
    with httpx2.Client(base_url=url, headers=FROM_HERE, timeout=30) as client:
        answer = client.post(f"{API}/session", json={"email": person.email, "password": load().password})
        answer.raise_for_status()
        return dict(client.cookies)
