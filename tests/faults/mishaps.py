"""What goes wrong: each mishap is done to a running shape, and the shape is whole again when it returns.

A mishap that keeps people from being answered lasts until somebody was kept: how busy the machine is decides when that
is, never a number of seconds.
"""

from __future__ import annotations

import contextlib
import os
import random
import signal
import time
from collections.abc import Callable
from pathlib import Path

from tests.faults.switches import Switch
from tests.parts.faulty_line import Trouble
from tests.parts.process import Part
from tests.parts.shape import Shape, answers
from tests.parts.small import SmallShape, can_mount


class Met:
    """Who meets a mishap: counts what has not got through, and tells when there is work to be struck.

    Args:
        held_up: how many requests were refused or not answered so far.
        at_work: whether something is being read or checked for somebody.
        somebody_comes: has one more person place an order.
    """

    def __init__(
        self, held_up: Callable[[], int], at_work: Callable[[], bool], somebody_comes: Callable[[], None]
    ) -> None:
        self._held_up = held_up
        self._at_work = at_work
        self._somebody_comes = somebody_comes
        self._before = held_up()

    @property
    def requests(self) -> int:
        """How many did not get through since the mishap began."""
        return self._held_up() - self._before

    def until_met(self) -> None:
        """Have somebody come who writes, and wait until they were kept from an answer. TimeoutError."""
        self._somebody_comes()
        _wait_for(lambda: self.requests > 0)

    def until_at_work(self) -> None:
        """Wait until there is work to strike. TimeoutError."""
        _wait_for(self._at_work)


def _wait_for(met: Callable[[], bool]) -> None:
    end = time.monotonic() + LONGEST_SECONDS
    while not met():
        if time.monotonic() > end:
            raise TimeoutError("a mishap was met by nobody")
        time.sleep(0.01)


Mishap = Callable[[random.Random, Met], None]
LONGEST_SECONDS = 200.0
"""Orders have been given up by then: nobody comes any more."""
AWAY_SECONDS = 45.0
STOPPED_SECONDS = 19.0
"""Longer than a worker may be silent (service.work.worker_registry.SILENCE_SECONDS) with a beat on top."""


def large(shape: Shape, clock: Switch) -> dict[str, Mishap]:
    """Mishaps of the large shape by name."""

    def kill(parts: list[Part]) -> Mishap:
        return lambda dice, met: _kill(dice.choice(parts), dice)

    def worker_killed(dice: random.Random, met: Met) -> None:
        met.until_at_work()
        _kill(dice.choice(shape.workers), dice)

    def line(trouble: Trouble) -> Mishap:
        def broken(dice: random.Random, met: Met) -> None:
            shape.line.trouble = trouble
            if trouble in {Trouble.BUSY, Trouble.DEAD, Trouble.HUNG}:
                met.until_met()
            time.sleep(dice.uniform(0.5, 3))
            shape.line.trouble = Trouble.NONE

        return broken

    def files_away_for_long(_dice: random.Random, met: Met) -> None:
        """Longer than all tries of one piece of work once took."""
        shape.line.trouble = Trouble.DEAD
        met.until_met()
        time.sleep(AWAY_SECONDS)
        shape.line.trouble = Trouble.NONE

    def web_hung(dice: random.Random, _met: Met) -> None:
        web = dice.choice(shape.webs)
        web.signal(signal.SIGSTOP)
        time.sleep(dice.uniform(0.5, 3))
        web.signal(signal.SIGCONT)

    def database_killed(dice: random.Random, met: Met) -> None:
        shape.database.part.kill()
        met.until_met()
        time.sleep(dice.uniform(0, 1))
        shape.database.start()

    def stopped(seconds: tuple[float, float]) -> Mishap:
        def held(dice: random.Random, met: Met) -> None:
            met.until_at_work()
            worker = dice.choice(shape.workers)
            worker.signal(signal.SIGSTOP)
            time.sleep(dice.uniform(*seconds))
            worker.signal(signal.SIGCONT)

        return held

    return {
        "web killed": kill(shape.webs),
        "worker killed": worker_killed,
        "database killed": database_killed,
        "database restarted": lambda _dice, _met: shape.database.restart(),
        "files slow": line(Trouble.SLOW),
        "files busy": line(Trouble.BUSY),
        "files unreachable": line(Trouble.DEAD),
        "files hung": line(Trouble.HUNG),
        "files away for long": files_away_for_long,
        "web hung": web_hung,
        "decoder killed": lambda dice, met: _kill_decoder(shape.workers, dice, met),
        "files' answers lost": line(Trouble.LATE),
        "worker stopped for a moment": stopped((0.5, 3)),
        "worker stopped past its place": stopped((STOPPED_SECONDS, STOPPED_SECONDS + 2)),
        "clock set": lambda dice, _met: _set_clock(clock, dice),
    }


def small(shape: SmallShape, clock: Switch, disk: Switch) -> dict[str, Mishap]:
    """Mishaps of the small shape by name."""

    def disk_full(dice: random.Random, met: Met) -> None:
        shape.fill()
        met.until_met()
        time.sleep(dice.uniform(0.5, 3))
        shape.empty()

    def disk_read_only(dice: random.Random, met: Met) -> None:
        disk.set(1)
        met.until_met()
        time.sleep(dice.uniform(0.5, 3))
        disk.set(0)

    def started_read_only(_dice: random.Random, _met: Met) -> None:
        shape.part.kill()
        _wait_for_children()
        shape.allow_writing(False)
        shape.part.start()
        shape.part.wait()
        _wait_for_children()
        shape.allow_writing(True)
        shape.start()

    def stopped(dice: random.Random, met: Met) -> None:
        met.until_at_work()
        shape.part.signal(signal.SIGSTOP)
        time.sleep(dice.uniform(0.5, 3))
        shape.part.signal(signal.SIGCONT)

    found: dict[str, Mishap] = {
        "service killed": lambda dice, met: _kill(shape.part, dice, lambda: answers(shape.url), met),
        "service stopped for a moment": stopped,
        "decoder killed": lambda dice, met: _kill_decoder([shape.part], dice, met),
        "disk read-only": disk_read_only,
        "clock set": lambda dice, _met: _set_clock(clock, dice),
    }
    if can_mount():
        found |= {"disk full": disk_full, "started on a read-only disk": started_read_only}
    return found


def _kill(
    part: Part, dice: random.Random, up: Callable[[], bool] | None = None, met: Met | None = None
) -> None:
    part.kill()
    if met is not None:  # the only one there is: whoever asks now is not answered
        met.until_met()
    time.sleep(dice.uniform(0, 1))
    part.start()
    if up is not None:
        part.wait_until(up)


def _kill_decoder(parts: list[Part], dice: random.Random, met: Met) -> None:
    """As when a machine is short of memory: what reads or judges for somebody is ended, and is tried once more."""
    met.until_at_work()
    caged = [pid for part in parts for pid in _leaves(part.pid) if pid != part.pid]
    if caged:
        with contextlib.suppress(ProcessLookupError):  # it was done at this moment
            os.kill(dice.choice(caged), signal.SIGKILL)


def _leaves(pid: int) -> list[int]:
    """Processes that it started, and those they did, that have started none."""
    children: list[int] = []
    with contextlib.suppress(OSError):  # it has ended
        for task in Path(f"/proc/{pid}/task").glob("*/children"):
            children += map(int, task.read_text().split())
    return [leaf for child in children for leaf in _leaves(child)] if children else [pid]


def _set_clock(clock: Switch, dice: random.Random) -> None:
    clock.set(dice.choice((-7200, -90, 90, 7200)))
    time.sleep(dice.uniform(0.5, 3))
    clock.set(0)


def _wait_for_children() -> None:
    """Processes for carving arithmetic end themselves a moment after the service did; they hold its log."""
    time.sleep(0.5)
