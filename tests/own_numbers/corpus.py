"""Many programs for one signed carving: good ones however a post-processor writes them, and spoiled ones.

Good: rounded, in inches, by increments, numbered, with arcs fitted to the contours, in another order, in passes by
depth, with ramps. Spoiled: scale, mirror, offset, depth, another bit, cut short, inches for mm, arcs reversed, another
file; all beyond 0.3 mm aside or 0.2 mm of depth. ``samples`` holds a program written by an open library.
"""

from __future__ import annotations

import gzip
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace
from pathlib import Path as File

import numpy as np
from numpy.typing import NDArray

from artwork.program import Comparison, ProgramError, compare, read_program
from tests.artwork.program.signed import art, paths, signed
from tests.artwork.program.toolpaths import Path, Words, turned, written
from tests.own_numbers.arcs import with_arcs

Points = NDArray[np.float64]
SAMPLES = File(__file__).parent / "samples"


@dataclass(frozen=True)
class Made:
    """One program: its lines, and in words how it was made."""

    words: str
    lines: list[str]


def good(count: int, seed: int = 11) -> Iterator[Made]:
    """So many good programs, each written another way."""
    for number in range(count):
        rng = np.random.default_rng([seed, number])
        made, told = _ordered(rng)
        if rng.random() < 0.35:
            digits = int(rng.choice([3, 4]))
            yield Made(f"{told}, arcs with {digits} decimals", with_arcs(made, decimals=digits))
            continue
        words = Words(
            decimals=int(rng.choice([2, 3, 3, 4])),
            inches=bool(rng.random() < 0.3),
            numbers=bool(rng.random() < 0.3),
            comments=bool(rng.random() < 0.4),
            spaces=bool(rng.random() < 0.7),
            modal=bool(rng.random() < 0.7),
            percent=bool(rng.random() < 0.3),
            relative=bool(rng.random() < 0.2),
            safe=float(rng.choice([3.0, 5.0, 12.0])),
            offset=str(rng.choice(["G54", "G55", "G59.1"])),
        )
        yield Made(f"{told}, {words}", written(made, words))
    # and one whose every line was written by an open library
    for file in sorted(SAMPLES.glob("*.nc.gz")):
        yield Made(file.name, gzip.decompress(file.read_bytes()).decode().splitlines())


def _ordered(rng: np.random.Generator) -> tuple[list[Path], str]:
    """The contours in some order, in one pass or in two, plunged or ramped into."""
    made = list(paths(level=float(rng.choice([0.06, 0.08, 0.1]))))
    told = [f"{len(made)} contours"]
    if rng.random() < 0.4:
        made = [made[at] for at in rng.permutation(len(made))]
        told.append("shuffled")
    if rng.random() < 0.3:
        made = [each for path in made for each in (Path(path.points * [1, 1, 0.5]), path)]
        told.append("in two passes")
    if rng.random() < 0.4:
        made = [_ramped(path) for path in made]
        told.append("ramped")
    if rng.random() < 0.3:
        made = [Path(path.points[::-1]) for path in made] if "ramped" not in told else made
        told.append("the other way round")
    return made, ", ".join(told)


def _ramped(path: Path, length: float = 6.0) -> Path:
    """Down along the contour itself, and over the ramp again at full depth."""
    points = path.points
    steps = np.hypot(*np.diff(points[:, :2], axis=0).T)
    way = np.concatenate([[0.0], np.cumsum(steps)])
    share = np.minimum(way / length, 1.0)
    ramp = points * np.column_stack([np.ones((len(points), 2)), share])
    down = ramp[way <= length]
    return Path(np.vstack([down, points[way > length], points]))


def spoiled() -> Iterator[Made]:
    """Every kind of spoiled program, at and beyond the bounds that are promised."""
    x0, y0, x1, y1 = art().bounds
    middle = np.array([(x0 + x1) / 2, (y0 + y1) / 2, 0.0])

    def sized(by: float) -> Callable[[Points], Points]:
        return lambda p: np.asarray((p - middle) * [by, by, 1] + middle)

    def shifted(x: float = 0.0, y: float = 0.0, z: float = 0.0) -> Callable[[Points], Points]:
        return lambda p: np.asarray(p + np.array([x, y, z]))

    changes: dict[str, Callable[[Points], Points]] = {
        **{f"scale {by}": sized(by) for by in (0.5, 0.9, 0.97, 0.98, 1.02, 1.03, 1.1, 2.0)},
        **{f"scale all {by}": (lambda p, by=by: p * by) for by in (0.95, 1.05)},
        "mirror x": lambda p: p * [-1, 1, 1],
        "mirror x about its middle": lambda p: (p - middle) * [-1, 1, 1] + middle,
        "mirror y": lambda p: (p - middle) * [1, -1, 1] + middle,
        **{f"{x:+} in x": shifted(x=x) for x in (0.3, -0.35, 0.5, 1.0, -3.0, 12.7, 55.0)},
        **{f"{y:+} in y": shifted(y=y) for y in (0.3, -0.35, 0.6, 2.0, -5.0, 25.4)},
        **{f"{z:+} deep": shifted(z=z) for z in (0.2, -0.2, 0.25, -0.3, 0.5, -1.0, 1.5)},
        **{f"depth times {by}": (lambda p, by=by: p * [1, 1, by]) for by in (0.7, 1.3)},
        **{f"turned {by}": turned(by) for by in (2, 90, 180)},
    }
    for words, change in changes.items():
        yield Made(words, written(paths(), change=change))
    for angle in (45.0, 90.0, 120.0):
        yield Made(f"a bit of {angle:g}°", written(paths(angle)))
    whole = written(paths())
    for share in (0.25, 0.5, 0.75, 0.95):
        yield Made(f"cut short at {share:.0%}", whole[: int(len(whole) * share)])
    yield Made(
        "inches read as mm", [line.replace("G20", "G21") for line in written(paths(), Words(inches=True))]
    )
    yield Made("mm read as inches", [line.replace("G21", "G20") for line in whole])
    yield Made("arcs reversed", [_reversed(line) for line in with_arcs(paths())])
    star = [replace(path, points=path.points * [0.3, 0.2, 1.0]) for path in paths()[:60]]
    yield Made("another file", written(star))
    yield Made(
        "half of it, moved", written([Path(path.points + np.array([40, 0, 0])) for path in paths()[::2]])
    )


def _reversed(line: str) -> str:
    if line.startswith(("G2 ", "G3 ")):
        return ("G3" if line[1] == "2" else "G2") + line[2:]
    return line


def held(made: Made) -> Comparison | ProgramError:
    """What the check says of it."""
    try:
        return compare(read_program(made.lines), signed())
    except ProgramError as stopped:
        return stopped


def false_alarms(programs: Sequence[Made] | Iterator[Made]) -> tuple[list[str], int]:
    """Good programs that were not told to cut what was signed, and how many were tried."""
    alarms, count = [], 0
    for made in programs:
        found, count = held(made), count + 1
        if isinstance(found, ProgramError) or found.outcome != "cuts-what-was-signed":
            alarms.append(f"{made.words}: {found if isinstance(found, ProgramError) else found.sentence}")
    return alarms, count


def missed(programs: Sequence[Made] | Iterator[Made]) -> tuple[list[str], int]:
    """Spoiled programs that passed, and how many were tried."""
    through, count = [], 0
    for made in programs:
        found, count = held(made), count + 1
        if not isinstance(found, ProgramError) and found.outcome == "cuts-what-was-signed":
            through.append(made.words)
    return through, count
