"""Colour art: how often the reading as it comes, or a picture beside it, is the drawing that was sent.

``bench/colour-art-verdicts.tsv`` names drawings of Open Clip Art and, of each, the looks that somebody who looked at
the contact sheet (``python -m tests.artwork.intake.sheets --labelled SHEET.png``) took for it: the way and the inks;
``its shapes`` for a shaded drawing's shapes in one; ``as it comes`` where none were offered; nothing where none of
the pictures was it.
"""

from __future__ import annotations

import csv
import statistics
import time
from functools import cache
from pathlib import Path

from artwork.intake import Reading, read_artwork
from artwork.intake.values import Choice
from tests.bench.harness import Measured, case

CLIPART = Path("/usr/share/openclipart/svg")
VERDICTS = Path(__file__).parents[2] / "bench" / "colour-art-verdicts.tsv"


def labels() -> dict[str, set[str]]:
    """The looks taken for each drawing."""
    with VERDICTS.open(newline="") as file:
        rows = list(csv.reader(file, delimiter="\t"))[1:]
    return {name: set(filter(None, looks.split("; "))) for name, looks in rows}


def name_of(choice: Choice) -> str:
    """A look as the verdicts name it."""
    if choice.wishes.way is None:
        return "its shapes"
    if choice.wishes.way == "toned":
        return "toned"
    return f"{choice.wishes.way} {','.join(map(str, choice.wishes.inks or ())) or 'nothing'}"


def looks_of(reading: Reading) -> set[str]:
    """The looks that a person is shown, in the words of the verdicts."""
    return {name_of(choice) for choice in reading.choices} or {"as it comes"}


LABELS = labels()


@cache
def processor_times() -> list[float]:
    """Seconds of processor time of each drawing's whole intake, the shortest first; codecs are loaded before."""
    times = []
    for name in [*list(LABELS)[:5], *LABELS]:
        data = (CLIPART / name).read_bytes()
        start = time.process_time()
        read_artwork(data, name)
        times.append(time.process_time() - start)
    return sorted(times[5:])


@case(issue=16, name="colour art: intake, median of processor time", n=f"{len(LABELS)} drawings", target=0.15)
def median_of_intake() -> Measured:
    times = processor_times()
    return Measured(statistics.median(times), note=f"all of them: {sum(times):.1f} s")


@case(issue=16, name="colour art: intake, 95 % of processor time", n=f"{len(LABELS)} drawings", target=0.6)
def most_of_intake() -> Measured:
    times = processor_times()
    return Measured(times[int(0.95 * len(times))], note=f"the slowest: {times[-1]:.2f} s")


@case(
    issue=16,
    name="colour art: the drawing is the reading or a picture beside it",
    n=f"{len(LABELS)} drawings, looked at one by one",
    target=0.95,
    sense="at least",
)
def drawings_that_are_shown() -> Measured:
    missed = [
        name
        for name, accepted in LABELS.items()
        if not looks_of(read_artwork((CLIPART / name).read_bytes(), name)) & accepted
    ]
    share = 1 - len(missed) / len(LABELS)
    return Measured(share, figure=share, unit="share", note=f"not shown: {', '.join(missed)}")
