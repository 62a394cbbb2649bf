"""Rounds of orders and mishaps over one shape that lives through all of them."""

from __future__ import annotations

import random
import threading
import time
from collections import Counter
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import httpx2
from aiosmtpd.controller import Controller

from seeds.shop import load
from tests.faults import mishaps
from tests.faults.checks import losses, place_at
from tests.faults.clock import Clock
from tests.faults.traffic import Order, Told, TooLong
from tests.parts.process import free_port
from tests.parts.shape import Shape
from tests.parts.small import SmallShape, can_mount
from tests.running import API, FROM_HERE, art

ORDERS_AT_ONCE = 2
MOST_MISHAPS = 3
RARE = {"worker stopped past its place": 0.1}
"""Mishaps that take long are drawn less often: this share of the usual chance."""


@dataclass
class Found:
    """What rounds came to."""

    rounds: int = 0
    orders: int = 0
    mishaps: dict[str, int] = field(default_factory=dict)
    refusals: dict[int, int] = field(default_factory=dict)
    unanswered: int = 0
    mails: int = 0
    losses: list[str] = field(default_factory=list)

    def take_in(self, number: int, names: list[str], told: list[Told], bad: list[str]) -> None:
        """Add what one round came to."""
        self.rounds, self.orders = number, self.orders + len(told)
        self.mishaps = dict(sorted((Counter(self.mishaps) + Counter(names)).items()))
        for each in told:
            self.refusals = dict(sorted((Counter(self.refusals) + Counter(each.refusals)).items()))
            self.unanswered += each.unanswered
        self.losses += [f"round {number} ({', '.join(names)}): {words}" for words in bad]


class Catcher:
    """Takes in mail and counts it by its message."""

    def __init__(self) -> None:
        self.count: Counter[str] = Counter()

    async def handle_DATA(self, _server: object, _session: object, envelope: Any) -> str:
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
    clock = Clock(home)
    with mail() as (smtp, catcher):
        shape = Shape(home / "large", smtp=smtp, also=clock.environ)
        try:
            shape.start(seed=True)
            known = mishaps.large(shape, clock)
            _rounds(shape.url, shape.environ, known, catcher, rounds, dice, found)
        finally:
            shape.stop()


def over_small(home: Path, rounds: int, dice: random.Random, found: Found) -> None:
    """Rounds over one process on SQLite and a folder."""
    clock = Clock(home)
    with mail() as (smtp, catcher):
        disk = 256 if can_mount() else None
        shape = SmallShape(home / "small", disk_mb=disk, smtp=smtp, also=clock.environ)
        try:
            shape.start()
            known = mishaps.small(shape, clock)
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
    said: set[str] = set()  # mail that went twice is found again in every later round
    for number in range(1, rounds + 1):
        orders = [Order(url, maker, drawing) for _ in range(ORDERS_AT_ONCE)]
        names = _draw(known, dice)
        began = time.monotonic()
        bad = _round(orders, [known[name] for name in names], dice)
        through = time.monotonic() - began
        told = [order.told for order in orders]
        with place_at(environ) as place:
            bad += [each for each in losses(place, told, catcher.count) if each not in said]
        said.update(bad)
        found.take_in(number, names, told, bad)
        found.mails = catcher.count.total()
        print(
            f"round {number}: {', '.join(names)}: {through:.1f} s, checks {time.monotonic() - began - through:.1f} s; "
            f"losses: {bad or 'none'}",
            flush=True,
        )


def _round(orders: list[Order], wrong: list[mishaps.Mishap], dice: random.Random) -> list[str]:
    bad: list[str] = []

    def go(order: Order) -> None:
        try:
            order.go()
        except TooLong as late:
            bad.append(f"not done: {late}")
        except Exception as error:  # noqa: BLE001 - whatever it is, it was not promised
            bad.append(f"{type(error).__name__}: {error}")

    threads = [threading.Thread(target=go, args=(order,)) for order in orders]
    for thread in threads:
        thread.start()
    for mishap in wrong:
        time.sleep(dice.uniform(0, 1.5))
        mishap(dice)
    for thread in threads:
        thread.join()
    return bad


def _draw(known: dict[str, mishaps.Mishap], dice: random.Random) -> list[str]:
    weights = [RARE.get(name, 1.0) for name in known]
    return dice.choices(list(known), weights, k=dice.randint(1, MOST_MISHAPS))


def sign_in(url: str) -> dict[str, str]:
    """The cookies of the signed-in maker."""
    person = next(person for person in load().people if person.role == "maker")
    with httpx2.Client(base_url=url, headers=FROM_HERE, timeout=30) as client:
        answer = client.post(f"{API}/session", json={"email": person.email, "password": load().password})
        answer.raise_for_status()
        return dict(client.cookies)
