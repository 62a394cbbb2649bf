"""What goes wrong: each mishap is done to a running shape, and the shape is whole again when it returns."""

from __future__ import annotations

import random
import signal
import time
from collections.abc import Callable

from tests.faults.switches import Switch
from tests.parts.faulty_line import Trouble
from tests.parts.process import Part
from tests.parts.shape import Shape, answers
from tests.parts.small import SmallShape, can_mount

Mishap = Callable[[random.Random], None]
STOPPED_SECONDS = 19.0
"""Longer than a worker may be silent (service.work.roll.SILENCE_SECONDS) with a beat on top."""


def large(shape: Shape, clock: Switch) -> dict[str, Mishap]:
    """Mishaps of the large shape by name."""

    def kill(parts: list[Part]) -> Mishap:
        return lambda dice: _kill(dice.choice(parts), dice)

    def line(trouble: Trouble) -> Mishap:
        def broken(dice: random.Random) -> None:
            shape.line.trouble = trouble
            time.sleep(dice.uniform(0.5, 3))
            shape.line.trouble = Trouble.NONE

        return broken

    def database_killed(dice: random.Random) -> None:
        shape.database.part.kill()
        time.sleep(dice.uniform(0, 1))
        shape.database.start()

    def stopped(seconds: tuple[float, float]) -> Mishap:
        def held(dice: random.Random) -> None:
            worker = dice.choice(shape.workers)
            worker.signal(signal.SIGSTOP)
            time.sleep(dice.uniform(*seconds))
            worker.signal(signal.SIGCONT)

        return held

    return {
        "web killed": kill(shape.webs),
        "worker killed": kill(shape.workers),
        "database killed": database_killed,
        "database restarted": lambda _dice: shape.database.restart(),
        "files slow": line(Trouble.SLOW),
        "files busy": line(Trouble.BUSY),
        "files unreachable": line(Trouble.DEAD),
        "files' answers lost": line(Trouble.LATE),
        "worker stopped for a moment": stopped((0.5, 3)),
        "worker stopped past its place": stopped((STOPPED_SECONDS, STOPPED_SECONDS + 2)),
        "clock set": lambda dice: _set_clock(clock, dice),
    }


def small(shape: SmallShape, clock: Switch, disk: Switch) -> dict[str, Mishap]:
    """Mishaps of the small shape by name."""

    def disk_full(dice: random.Random) -> None:
        shape.fill()
        time.sleep(dice.uniform(0.5, 3))
        shape.empty()

    def disk_read_only(dice: random.Random) -> None:
        disk.set(1)
        time.sleep(dice.uniform(0.5, 3))
        disk.set(0)

    def started_read_only(_dice: random.Random) -> None:
        shape.part.kill()
        _wait_for_children()
        shape.allow_writing(False)
        shape.part.start()
        shape.part.wait()
        _wait_for_children()
        shape.allow_writing(True)
        shape.start()

    def stopped(dice: random.Random) -> None:
        shape.part.signal(signal.SIGSTOP)
        time.sleep(dice.uniform(0.5, 3))
        shape.part.signal(signal.SIGCONT)

    found: dict[str, Mishap] = {
        "service killed": lambda dice: _kill(shape.part, dice, lambda: answers(shape.url)),
        "service stopped for a moment": stopped,
        "disk read-only": disk_read_only,
        "clock set": lambda dice: _set_clock(clock, dice),
    }
    if can_mount():
        found |= {"disk full": disk_full, "started on a read-only disk": started_read_only}
    return found


def _kill(part: Part, dice: random.Random, up: Callable[[], bool] | None = None) -> None:
    part.kill()
    time.sleep(dice.uniform(0, 1))
    part.start()
    if up is not None:
        part.wait_until(up)


def _set_clock(clock: Switch, dice: random.Random) -> None:
    clock.set(dice.choice((-7200, -90, 90, 7200)))
    time.sleep(dice.uniform(0.5, 3))
    clock.set(0)


def _wait_for_children() -> None:
    """Processes for carving arithmetic end themselves a moment after the service did; they hold its log."""
    time.sleep(0.5)
