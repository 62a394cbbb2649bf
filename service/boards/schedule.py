"""When an order is ready: one machine and one pair of hands, working side by side.

Each piece is machined (carved and cut out), then worked at the bench (rounded over, sanded) while the machine
goes on with the next: a flow shop of two stages, for which Johnson's order (S. M. Johnson, 1954) takes least
time.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, field
from datetime import date, timedelta
from itertools import groupby, islice
from math import ceil, floor, isfinite

from artwork.furniture import Part
from service.orders.errors import FieldError, InvalidError

_HORIZON_DAYS = 20_000
_CHANGES_A_BED = 2
"""To the straight bit, and back to the V-bit."""
_EXACT = 1e-9
"""What whole days may miss by in floating point."""


@dataclass(frozen=True)
class Pace:
    """How fast the shop works; all common practice, no source, all settings.

    Attributes:
        day_minutes: hours at work in a day, minutes; machine and bench run in them only.
        weekdays: days of the week worked, 0 for Monday.
        days_off: days not worked besides.
        cut_feed: of the straight bit, mm per minute.
        cut_pass: depth of one of its passes, mm.
        cut_plunge: of the straight bit, mm per minute downwards.
        load_minutes: fixing one board and setting the bit's zero; the machine waits meanwhile.
        change_minutes: changing the bit; the machine waits meanwhile.
        boards_a_bed: how many boards are cut with one change from V-bit to straight bit and back.
    """

    day_minutes: float = 420.0
    weekdays: frozenset[int] = frozenset(range(5))
    days_off: frozenset[date] = field(default_factory=frozenset)
    cut_feed: float = 2000.0
    cut_pass: float = 6.0
    load_minutes: float = 5.0
    cut_plunge: float = 700.0
    change_minutes: float = 3.0
    boards_a_bed: int = 1

    @property
    def board_minutes(self) -> float:
        """What the machine waits for each board: loaded, and its share of the changes of the bit on its bed."""
        return self.load_minutes + _CHANGES_A_BED * self.change_minutes / self.boards_a_bed

    def __post_init__(self) -> None:
        above = (self.day_minutes, self.cut_feed, self.cut_pass, self.cut_plunge, self.boards_a_bed)
        waits = (self.load_minutes, self.change_minutes)
        good = all(map(isfinite, above + waits)) and min(above) > 0 <= min(waits)
        if not good or self.day_minutes > 24 * 60 or not self.weekdays <= set(range(7)) or not self.weekdays:
            raise InvalidError(
                FieldError(
                    "pace", "pace", "Give working hours, feed and pass depth above 0, and a day to work on."
                )
            )

    def works_on(self, day: date) -> bool:
        """Whether that is a working day."""
        return day.weekday() in self.weekdays and day not in self.days_off


@dataclass(frozen=True)
class PieceWork:
    """The work on one piece, and how many such pieces there are; minutes.

    Attributes:
        name: what people call it.
        pieces: how many.
        machine: carving, cutting out, loading.
        bench: rounding over and sanding its parts, and loading boards, which takes the maker from it.
        assembly: putting it together at the customer's place.
    """

    name: str
    pieces: int
    machine: float
    bench: float
    assembly: float = 0.0


@dataclass(frozen=True)
class Schedule:
    """When an order is ready.

    Attributes:
        sequence: name and number of pieces, in the order to make them.
        machine_minutes, bench_minutes, assembly_minutes: all together.
        shop_minutes: from the first board to the last piece off the bench, overlapping.
        starts_on, ready_on: first day of work; day on which it is assembled at the customer's place.
        work_days: working days from one to the other, both counted.
        needed_by: the day asked for, if any.
        spare_days: working days between ready and needed, negative when late; ``None`` if no day is asked.
        assumptions: what the figures rest on, in words.
    """

    sequence: tuple[tuple[str, int], ...]
    machine_minutes: float
    bench_minutes: float
    assembly_minutes: float
    shop_minutes: float
    starts_on: date
    ready_on: date
    work_days: int
    needed_by: date | None
    spare_days: int | None
    assumptions: tuple[str, ...]

    @property
    def holds(self) -> bool | None:
        """Whether the needed-by day holds; ``None`` where none was asked for."""
        return None if self.needed_by is None else self.ready_on <= self.needed_by

    @property
    def sentence(self) -> str:
        """The answer in words."""
        slower = "machine" if self.machine_minutes > self.bench_minutes else "bench"
        ready = f"Ready on {self.ready_on.isoformat()} after {_count(self.work_days, 'working day')}"
        said = f"{ready}; the {slower} sets the pace."
        if self.needed_by is None or self.spare_days is None:
            return said
        asked = f" Needed by {self.needed_by.isoformat()}: "
        if self.holds:
            return f"{said}{asked}holds, with {_count(self.spare_days, 'working day')} to spare."
        return f"{said}{asked}too late by {_count(-self.spare_days, 'working day')}."


def piece_work(
    name: str,
    pieces: int,
    carving: Sequence[float],
    parts: Iterable[Part],
    pace: Pace,
    *,
    boards: float,
    shop_minutes: float,
    assembly_minutes: float,
) -> PieceWork:
    """The work on one piece of a model.

    Args:
        name: what people call it.
        pieces: how many.
        carving: carving minutes of each carved slat of one piece.
        parts: the model's part list.
        pace: the shop's.
        boards: that one piece's parts are cut from, by the plan; parts of boards count.
        shop_minutes, assembly_minutes: the model's.
    """
    loading = pace.board_minutes * boards
    machine = sum(carving) + loading + cut_out_minutes(parts, pace)
    return PieceWork(name, pieces, machine, shop_minutes + loading, assembly_minutes)


def cut_out_minutes(parts: Iterable[Part], pace: Pace) -> float:
    """Cutting out a part list: round every part's edge, as often as its thickness takes passes, and down for each."""
    return sum(
        part.count
        * (
            2 * (part.length + part.width) * ceil(part.thickness / pace.cut_pass) / pace.cut_feed
            + part.thickness / pace.cut_plunge
        )
        for part in parts
    )


def schedule(
    works: Sequence[PieceWork],
    pace: Pace,
    start: date,
    needed_by: date | None = None,
    ahead_minutes: float = 0.0,
) -> Schedule:
    """When the work is done, started at the first working day from ``start``.

    Args:
        works: the pieces.
        pace: the shop's.
        start: earliest day of work.
        needed_by: day asked for.
        ahead_minutes: shop time of orders that come before.

    Raises:
        Invalid: minutes or counts that make no sense.
    """
    _refuse_nonsense(works, ahead_minutes)
    order = johnson(works)
    shop = makespan(order)
    assembly = sum(work.pieces * work.assembly for work in works)
    first = _nth(start, floor(ahead_minutes / pace.day_minutes + _EXACT) + 1, pace)
    ready = _nth(start, max(_days(ahead_minutes + shop, pace), 1), pace)
    if assembly:
        ready = _nth(ready + timedelta(1), _days(assembly, pace), pace)
    return Schedule(
        tuple(
            (name, sum(work.pieces for work in run)) for name, run in groupby(order, lambda work: work.name)
        ),
        sum(work.pieces * work.machine for work in works),
        sum(work.pieces * work.bench for work in works),
        assembly,
        shop,
        first,
        ready,
        _workdays(first, ready, pace),
        needed_by,
        None if needed_by is None else _spare(ready, needed_by, pace),
        tuple(_assumptions(pace, ahead_minutes)),
    )


def johnson(works: Sequence[PieceWork]) -> list[PieceWork]:
    """The works in the order that ends soonest: short machine work first, short bench work last."""
    first = sorted((w for w in works if w.machine < w.bench), key=lambda w: w.machine)
    return first + sorted((w for w in works if w.machine >= w.bench), key=lambda w: -w.bench)


def makespan(order: Sequence[PieceWork]) -> float:
    """Minutes from the first board to the last piece off the bench, pieces made in that order."""
    machined = done = 0.0
    for work in order:
        for _ in range(work.pieces):
            machined += work.machine
            done = max(done, machined) + work.bench
    return done


def _refuse_nonsense(works: Sequence[PieceWork], ahead_minutes: float) -> None:
    problems = [
        FieldError(work.name, "work-figures", f"The minutes or the pieces of “{work.name}” make no sense.")
        for work in works
        if work.pieces < 0
        or not all(0 <= minutes < 10**6 for minutes in (work.machine, work.bench, work.assembly))
    ]
    if not 0 <= ahead_minutes < 10**7:
        problems.append(
            FieldError("ahead_minutes", "work-figures", "Give the work ahead in minutes, 0 or more.")
        )
    if problems:
        raise InvalidError(*problems)


def _working(day: date, pace: Pace) -> Iterator[date]:
    """Working days from that day on."""
    for after in range(_HORIZON_DAYS):
        if pace.works_on(later := day + timedelta(after)):
            yield later
    raise InvalidError(
        FieldError("pace", "never-ready", "There are not enough working days. Check the days off.")
    )


def _nth(day: date, number: int, pace: Pace) -> date:
    """The working day of that number, the first from ``day`` on being number 1."""
    return next(islice(_working(day, pace), number - 1, None))


def _days(minutes: float, pace: Pace) -> int:
    """Days that so much work takes."""
    return ceil(minutes / pace.day_minutes - _EXACT)


def _workdays(first: date, last: date, pace: Pace) -> int:
    """Working days from the first to the last, both counted."""
    return sum(pace.works_on(first + timedelta(k)) for k in range((last - first).days + 1))


def _spare(ready: date, needed: date, pace: Pace) -> int:
    """Working days after ``ready`` up to ``needed``; negative where ready is later."""
    if ready <= needed:
        return _workdays(ready, needed, pace) - 1
    return -_workdays(needed + timedelta(1), ready, pace)


def _assumptions(pace: Pace, ahead_minutes: float) -> Iterator[str]:
    hours = f"{pace.day_minutes / 60:g} working hours a day, {len(pace.weekdays)} days a week"
    yield f"{hours}, one maker, one machine, which runs only while the maker is there."
    yield "A piece goes to the bench when all of it is machined."
    yield (
        f"Loading takes {pace.load_minutes:g} min a board; a change of the bit {pace.change_minutes:g} min, there and "
        f"back for each bed of {_count(pace.boards_a_bed, 'board')}; cutting out goes round every part at "
        f"{pace.cut_feed:g} mm/min in passes of {pace.cut_pass:g} mm."
    )
    yield "Assembly at the customer's place follows the last piece; the way there is not counted."
    yield "Carving time is an estimate."
    if ahead_minutes:
        yield f"{ahead_minutes / 60:.1f} hours of other orders come first."


def _count(number: int, noun: str) -> str:
    return f"{number} {noun}" if number == 1 else f"{number} {noun}s"
