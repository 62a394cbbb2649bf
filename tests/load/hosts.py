"""How long proofs are waited for at a host of many shops: a simulation with service times measured here.

Shops send orders as people do, at any moment of their working hours; each order brings pieces of work (a file read, a
cut checked), and the cores of a place take them shop by shop in turn, as the lanes do. What is not measured is said
beside it.
"""

from __future__ import annotations

import heapq
import random
from collections import deque
from dataclasses import dataclass
from typing import Any

ORDERS_A_YEAR, SEASON_DAYS, DAY_HOURS = 100, 84, 8
"""A shop's, all in four months of 21 days: our assumption."""
BUSIEST_HOUR = 2.0
"""Times the mean hour's orders: our assumption."""
PIECES_PER_ORDER = 6
"""Two carvings, one and a half files each, read and checked: our assumption."""
PIECE_SECONDS = 2 / 6.16
"""Processor time of a reading or a check of a scan: two cores did 6.16 a second (``scripts/load --workers``)."""
WEB_SECONDS_PER_ORDER = 0.005 + 40 * 0.008
"""An order placed (``scripts/bench --issue 22``) and 40 looks at a client's page of 8 ms, of a core of a replica."""


SIZES = (10, 1_000, 33_000, 100_000)
"""33,000: one of three places of a host of 100,000."""


@dataclass(frozen=True)
class Waits:
    """Seconds from a file to its proof, and the share of the cores that is used."""

    half: float
    most: float
    used: float


def orders_a_second(shops: int) -> float:
    """In the busiest hour."""
    return shops * ORDERS_A_YEAR / (SEASON_DAYS * DAY_HOURS * 3600) * BUSIEST_HOUR


def simulate(shops: int, cores: int, seconds: float = 20_000.0, seed: int = 1) -> Waits:
    """One place in its busiest hour, gone on with until the figures stand still.

    Args:
        shops: how many there are.
        cores: that do background work.
    """
    dice = random.Random(seed)
    rate = orders_a_second(shops)
    waiting: dict[int, deque[float]] = {}
    turn: deque[int] = deque()
    busy: list[float] = []
    waits: list[float] = []
    worked = now = 0.0
    while now < seconds:
        now += dice.expovariate(rate)
        worked += _serve(waiting, turn, busy, waits, cores=cores, until=now, dice=dice)
        shop = dice.randrange(shops)
        if shop not in waiting:
            waiting[shop] = deque()
            turn.append(shop)
        waiting[shop].extend([now] * PIECES_PER_ORDER)
    waits.sort()
    at = [waits[int(len(waits) * share)] for share in (0.5, 0.95)] if waits else [0.0, 0.0]
    return Waits(*at, used=worked / (seconds * cores))


def _serve(
    waiting: dict[int, deque[float]],
    turn: deque[int],
    busy: list[float],
    waits: list[float],
    *,
    cores: int,
    until: float,
    dice: random.Random,
) -> float:
    """Let the cores work until then; the seconds they worked. ``busy``: when each that works is free again."""
    worked = 0.0
    while turn:
        free_at = busy[0] if len(busy) == cores else 0.0
        shop = turn[0]
        begins = max(free_at, waiting[shop][0])
        if begins >= until:
            break
        if len(busy) == cores:
            heapq.heappop(busy)
        turn.popleft()
        asked = waiting[shop].popleft()
        took = dice.expovariate(1 / PIECE_SECONDS)  # how pieces differ: our assumption
        heapq.heappush(busy, begins + took)
        waits.append(begins + took - asked)
        worked += took
        if waiting[shop]:
            turn.append(shop)
        else:
            del waiting[shop]
    return worked


def cores_for(shops: int, longest: float = 5.0) -> int:
    """Fewest cores for background work by which 95 of 100 proofs are there within so many seconds."""
    cores = 1
    while simulate(shops, cores).most > longest:
        cores += 1
    return cores


def told() -> dict[str, Any]:
    """For each size of a place: the cores it wants, and what its shops wait."""
    found = {}
    for shops in SIZES:
        cores = cores_for(shops)
        waits = simulate(shops, cores)
        found[str(shops)] = {
            "orders_per_second": round(orders_a_second(shops), 3),
            "work_cores": cores,
            "web_cores": round(orders_a_second(shops) * WEB_SECONDS_PER_ORDER, 2),
            "half_wait_seconds": round(waits.half, 2),
            "95_of_100_wait_seconds": round(waits.most, 2),
            "cores_used": round(waits.used, 2),
        }
    return {"places": found}
