"""Sound files of every format, damaged at random: each must be taken or refused with a code, in good time.

``python -m tests.hostile.mutants --count 8000`` (``scripts/bench --hostile``) runs as many as wanted; the
suite runs 200. The same seed gives the same files.
"""

from __future__ import annotations

import argparse
import random
import re
import sys
from collections import Counter
from collections.abc import Callable, Iterator
from dataclasses import dataclass, field

from service.work.processes import Limits
from tests.hostile.apart import Answer, service
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
_CODE = re.compile(r"[a-z][a-z0-9-]*")
POINTS = 10
"""How often the service's memory is looked at during a run."""
FLAT_MB = 5.0
"""What the service's peak may rise by after the first tenth of the files: no more than malloc rounds up."""


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


@dataclass
class Outcome:
    """Answers by code, files that got no proper answer, the slowest, and the service's memory along the way."""

    answers: Counter[str] = field(default_factory=Counter)
    wrong: list[str] = field(default_factory=list)
    slowest: float = 0.0
    memory: list[tuple[int, float, float]] = field(default_factory=list)
    """Files answered by then, resident memory of the service's process, its greatest so far; MB."""

    @property
    def grown_mb(self) -> float:
        """By how much the peak of the service rose between a tenth of the files and the last."""
        return self.memory[-1][2] - self.memory[0][2]

    def add(self, name: str, answer: Answer) -> None:
        self.answers[answer.code] += 1
        self.slowest = max(self.slowest, answer.seconds)
        if answer.code in _FATAL or not _CODE.fullmatch(answer.code):
            self.wrong.append(f"{name}: {answer.code}")


def run(
    count: int, seed: int = 1, places: int = PLACES, report: Callable[[int], None] | None = None
) -> Outcome:
    """Reads the mutants, several at once, in the killable processes of a service that does nothing else."""
    outcome = Outcome()
    asked: dict[int, str] = {}

    def take_one() -> None:
        answer = reading.answered()
        outcome.add(asked.pop(answer.number), answer)
        done = outcome.answers.total()
        if done % max(1, count // POINTS) == 0:
            outcome.memory.append((done, *reading.memory()))
        if report is not None:
            report(done)

    with service(places, Limits(seconds=SECONDS, memory=MEMORY)) as reading:
        for number, (name, data) in enumerate(mutants(count, seed)):
            if len(asked) >= 2 * places:  # the files are made as they are read, not all before
                take_one()
            asked[number] = name
            reading.ask(number, data)
        while asked:
            take_one()
    return outcome


def main(arguments: list[str] | None = None) -> int:
    parser = argparse.ArgumentParser(prog="python -m tests.hostile.mutants")
    parser.add_argument("--count", type=int, default=8000)
    parser.add_argument("--seed", type=int, default=1)
    wanted = parser.parse_args(arguments)

    def report(done: int) -> None:
        if done % 100 == 0:
            print(f"\r{done} of {wanted.count}", end="", file=sys.stderr, flush=True)  # noqa: T201

    outcome = run(wanted.count, wanted.seed, report=report)
    print(f"\n{wanted.count} damaged files, seed {wanted.seed}: slowest {outcome.slowest:.1f} s, "  # noqa: T201
          f"the service's peak rose by {outcome.grown_mb:.1f} MB after the first tenth")  # fmt: skip
    for done, now, peak in outcome.memory:
        print(f"  {done:6} files: service {now:.1f} MB, peak {peak:.1f} MB")  # noqa: T201
    for code, number in outcome.answers.most_common():
        print(f"  {number:6}  {code}")  # noqa: T201
    for line in outcome.wrong:
        print(f"WRONG {line}")  # noqa: T201
    if outcome.grown_mb > FLAT_MB:
        print(f"WRONG the service grew by more than {FLAT_MB} MB")  # noqa: T201
    return 1 if outcome.wrong or outcome.grown_mb > FLAT_MB else 0


if __name__ == "__main__":
    sys.exit(main())
