"""Sound files of every format, damaged at random: each must be taken or refused with a code, in good time.

``python -m tests.hostile.mutants --count 5000`` (``scripts/bench --hostile``) runs as many as wanted; the
suite runs 200. The same seed gives the same files.
"""

from __future__ import annotations

import argparse
import random
import re
import resource
import sys
import time
from collections import Counter
from collections.abc import Callable, Iterator
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass, field
from threading import Semaphore

from artwork.refusal import Refusal
from service.work.processes import Limits, Processes
from tests.hostile.seeds import seeds

SECONDS = 30.0
MEMORY = 2 * 1024**3
PLACES = 2
_NUMBERS = [
    b"0",
    b"-1",
    b"1e308",
    b"-1e-308",
    b"nan",
    b"inf",
    b"4294967295",
    b"99999999999999999999",
    b"0.0001",
]
_FATAL = {"crashed", "too-slow", "too-much-memory"}


def flipped(data: bytearray, rng: random.Random) -> None:
    for _ in range(rng.randint(1, 8)):
        data[rng.randrange(len(data))] ^= 1 << rng.randrange(8)


def overwritten(data: bytearray, rng: random.Random) -> None:
    at = rng.randrange(len(data))
    data[at : at + rng.choice((1, 2, 4, 8))] = rng.choice(
        (b"\0", b"\xff", b"\x7f\xff\xff\xff", b"\x80", b"<", b"0")
    )


def cut(data: bytearray, rng: random.Random) -> None:
    del data[rng.randrange(len(data)) :]
    data += b"x" if not data else b""


def shortened(data: bytearray, rng: random.Random) -> None:
    at = rng.randrange(len(data))
    del data[at : at + rng.randint(1, max(1, len(data) // 4))]
    data += b"x" if not data else b""


def repeated(data: bytearray, rng: random.Random) -> None:
    at = rng.randrange(len(data))
    part = data[at : at + rng.randint(1, 200)]
    data[at:at] = part * rng.randint(1, 50)


def stuffed(data: bytearray, rng: random.Random) -> None:
    at = rng.randrange(len(data))
    data[at:at] = rng.randbytes(rng.randint(1, 64))


def renumbered(data: bytearray, rng: random.Random) -> None:
    """A number in text, or a length field, becomes an impossible one."""
    places = [match.span() for match in re.finditer(rb"\d+\.?\d*", bytes(data))]
    if not places:
        flipped(data, rng)
        return
    for _ in range(rng.randint(1, 3)):
        start, end = rng.choice(places)
        if end <= len(data):
            data[start:end] = rng.choice(_NUMBERS)


WAYS: tuple[Callable[[bytearray, random.Random], None], ...] = (
    flipped, overwritten, cut, shortened, repeated, stuffed, renumbered,
)  # fmt: skip


def mutants(count: int, seed: int) -> Iterator[tuple[str, bytes]]:
    """``count`` damaged files with a name that says which seed file and in which ways."""
    rng = random.Random(seed)
    sound = seeds()
    names = sorted(sound)
    for number in range(count):
        name = names[number % len(names)]
        data = bytearray(sound[name])
        ways = rng.choices(WAYS, k=rng.choice((1, 1, 2, 3)))
        for way in ways:
            way(data, rng)
        yield f"{number} {name}: {', '.join(way.__name__ for way in ways)}", bytes(data)


def answer(data: bytes) -> str:
    """``"taken"``, or the code of the refusal. Runs in a killable process."""
    from artwork.intake import read_artwork

    try:
        reading = read_artwork(data, "upload")
    except Refusal as refusal:
        return refusal.code
    left, low, right, high = reading.outline.bounds
    if not (left < right and low < high and reading.outline.nodes > 0 and reading.picture):
        raise AssertionError("a reading of nothing was given out")
    return "taken"


@dataclass
class Outcome:
    """Answers by code, files that got no proper answer, the slowest, and the growth of this process."""

    answers: Counter[str] = field(default_factory=Counter)
    wrong: list[str] = field(default_factory=list)
    slowest: float = 0.0
    grown_mb: float = 0.0


def run(
    count: int, seed: int = 1, places: int = PLACES, report: Callable[[int], None] | None = None
) -> Outcome:
    """Reads the mutants, several at once, in the service's own killable processes."""
    outcome = Outcome()
    processes = Processes(places, Limits(seconds=SECONDS, memory=MEMORY))
    processes.warm()
    before = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss

    def one(mutant: tuple[str, bytes]) -> None:
        name, data = mutant
        start = time.monotonic()
        try:
            code = processes.run(answer, data)
        except Refusal as refusal:
            code = refusal.code
        except Exception as error:  # noqa: BLE001 - any other error is what is looked for
            code = f"{type(error).__name__}: {error}"
            outcome.wrong.append(f"{name}: {code}")
        outcome.answers[code] += 1
        outcome.slowest = max(outcome.slowest, time.monotonic() - start)
        if code in _FATAL:
            outcome.wrong.append(f"{name}: {code}")
        if report is not None:
            report(outcome.answers.total())

    waiting = Semaphore(2 * places)  # the files are made as they are read, not all before

    def next_one(mutant: tuple[str, bytes]) -> None:
        try:
            one(mutant)
        finally:
            waiting.release()

    try:
        with ThreadPoolExecutor(places) as threads:
            asked = []
            for mutant in mutants(count, seed):
                waiting.acquire()
                asked.append(threads.submit(next_one, mutant))
        for each in asked:
            each.result()  # an error of this test's own is not swallowed
    finally:
        processes.stop()
    outcome.grown_mb = (resource.getrusage(resource.RUSAGE_SELF).ru_maxrss - before) / 1024
    return outcome


def main(arguments: list[str] | None = None) -> int:
    parser = argparse.ArgumentParser(prog="python -m tests.hostile.mutants")
    parser.add_argument("--count", type=int, default=5000)
    parser.add_argument("--seed", type=int, default=1)
    wanted = parser.parse_args(arguments)

    def report(done: int) -> None:
        if done % 100 == 0:
            print(f"\r{done} of {wanted.count}", end="", file=sys.stderr, flush=True)  # noqa: T201

    outcome = run(wanted.count, wanted.seed, report=report)
    print(f"\n{wanted.count} damaged files, seed {wanted.seed}: slowest {outcome.slowest:.1f} s, "  # noqa: T201
          f"this process grew by {outcome.grown_mb:.0f} MB")  # fmt: skip
    for code, number in outcome.answers.most_common():
        print(f"  {number:6}  {code}")  # noqa: T201
    for line in outcome.wrong:
        print(f"WRONG {line}")  # noqa: T201
    return 1 if outcome.wrong else 0


if __name__ == "__main__":
    sys.exit(main())
