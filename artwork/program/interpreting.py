"""A program's moves: the modal state of RS274/NGC walked line by line (NISTIR 6556, 3.3 to 3.8)."""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import replace
from math import dist, isnan, nan

import numpy as np

from artwork.program.arcs import RADII_AGREE, Arc, by_centre, by_radius
from artwork.program.codes import AXES, GROUPS, check_codes, name_of
from artwork.program.drilling import begin, heights, pecks
from artwork.program.moves import Moves, Noticed, Offsets, Point, Program, ProgramError
from artwork.program.state import NOWHERE, State, unknown
from artwork.program.words import LONGEST_LINE, Line, without_comments, words

MOST_MOVES = 2_000_000
MOST_BYTES = 50_000_000
MM_PER_INCH = 25.4
"""Of one drill cycle on a line (L)."""
_NO_AXES = [None, None, None]
_BIT_WORDS = re.compile(r"bit|tool|mill|v-?\s?carve|°|deg", re.IGNORECASE)


_NUMBER = r"([+-]?(?:\d+\.?\d*|\.\d+))"
_PLAIN = re.compile(
    rf"(?:N\d{{1,5}} ?)?(?:G(0?[01])(?!\d|\.) ?)?(?:X{_NUMBER} ?)?(?:Y{_NUMBER} ?)?(?:Z{_NUMBER} ?)?(?:F{_NUMBER})?",
    re.IGNORECASE,
)
"""A straight move as nearly every line of a carving is: read at once, with the same outcome as word by word."""


class _Reader:
    def __init__(self, offsets: Offsets) -> None:
        self.offsets = offsets
        self.state = State()
        self.noticed = Noticed()
        self.points: list[tuple[float, float, float, float, float, float, bool, float, int, int]] = []
        self.tools: dict[int, None] = {}
        self.used: dict[str, None] = {}
        self.comments: dict[str, None] = {}
        self.dwell = 0.0
        self.changes = 0
        self.inches = False

    # lines

    def plain(self, text: str, number: int) -> bool:
        """Take a line that is a plain straight move and nothing else; false leaves it to :meth:`line`."""
        state = self.state
        found = _PLAIN.fullmatch(text)
        usual = (
            state.absolute and state.unit == 1.0 and not (state.ended or state.inverse_time or self.offsets)
        )
        if found is None or not usual or len(text) > LONGEST_LINE:
            return False
        g, *axes, feed = found.groups()
        motion = state.motion if g is None else 10 * int(g)
        if motion not in (0, 10) or axes == _NO_AXES:
            return False
        if feed is not None:
            if float(feed) <= 0:
                return False
            state.feed = float(feed)
        state.motion = motion
        ax, ay, az = axes
        x0, y0, z0 = state.at
        x = x0 if ax is None else float(ax)
        y = y0 if ay is None else float(ay)
        z = z0 if az is None else float(az)
        self._go((x, y, z), number, rapid=motion == 0)
        return True

    def line(self, text: str, number: int) -> None:
        if len(text) > LONGEST_LINE:
            raise ProgramError("too-long", f"a line has at most {LONGEST_LINE} characters.", number)
        bare, comments = without_comments(text, number)
        for comment in comments:
            if _BIT_WORDS.search(comment):
                self.comments.setdefault(comment[:120])
        if not bare or self.state.ended or (bare == "%"):
            return
        found = words(bare, number)
        if found.deleted:
            self._deleted(found)
            return
        check_codes(found)
        self._settings(found)
        self._act(found)

    def _deleted(self, line: Line) -> None:
        """A switch on the machine decides about such a line: harmless only where it moves nothing."""
        if line.g or any(letter in line.numbers for letter in "xyzijkr"):
            raise ProgramError(
                "block-delete", "a switch on the machine decides whether this line counts.", line.number, "/"
            )
        words_ = "Lines that begin with / count or not by a switch on the machine; none of them moves."
        self.noticed.note("block-delete", words_, line.number)

    # what is set before anything moves, in the order of 3.8

    def _settings(self, line: Line) -> None:
        for g in line.g:
            self._set(g, line.number)
        self._feed_and_tools(line)

    def _set(self, g: int, line: int) -> None:
        state = self.state
        match GROUPS[g]:
            case 2:
                state.plane = g
            case 3:
                state.absolute = g == 900
            case 4:
                state.centre_absolute = g == 901
            case 5:
                state.inverse_time = g == 930
            case 6:
                state.unit = MM_PER_INCH if g == 200 else 1.0
            case 8 if g == 430:
                said = "Tool lengths (G43) are the machine's: the bit's zero is taken to be where the job sheet has it."
                self.noticed.note("tool-length", said, line)
            case 10:
                state.return_to_r = g == 990
            case 12:
                self._use_offset(name_of(g), line)

    def _feed_and_tools(self, line: Line) -> None:
        state, numbers = self.state, line.numbers
        if "f" in numbers:
            if numbers["f"] <= 0:
                raise ProgramError("feed", "a feed must be above 0.", line.number, "F")
            state.feed = numbers["f"] * (1.0 if state.inverse_time else state.unit)
        if "t" in numbers:
            state.next_tool = round(numbers["t"])
        if 6 in line.m:
            self.changes += 1
            state.tool = state.next_tool

    def _use_offset(self, name: str, line: int) -> None:
        if self.used and name not in self.used and name not in self.offsets:
            first = next(iter(self.used))
            said = f"it works from {first}, then from {name}: say where the zero of {name} lies from that of {first}."
            raise ProgramError("offset", said, line, name)
        if name != self.state.offset:
            self.state.at = NOWHERE  # the same place has other numbers now, and they are not known
        self.state.offset = name

    # acts

    def _act(self, line: Line) -> None:
        state = self.state
        if 40 in line.g:
            self._wait(line)
        elif 280 in line.g or 300 in line.g:
            self._return(line)
        else:
            for g in line.g:
                if GROUPS[g] == 1:
                    state.motion = g
            if 800 in line.g:
                state.motion, state.cycle = None, {}
            self._move(line)
        if 2 in line.m or 30 in line.m:
            state.ended = True

    def _wait(self, line: Line) -> None:
        seconds = line.numbers.get("p")
        if seconds is None or seconds < 0:
            raise ProgramError("dwell", "G4 needs P, seconds, not below 0.", line.number, "G4")
        self.dwell += seconds

    def _return(self, line: Line) -> None:
        """G28 and G30: by way of a place to one that only the machine knows."""
        if any(letter in line.numbers for letter in AXES):
            self._go(self._target(line), line.number, rapid=True)
        self.noticed.note(
            "machine-place",
            "G28, G30 and G53 lead to places of the machine's own, which are not checked.",
            line.number,
        )
        self.state.at = NOWHERE

    def _move(self, line: Line) -> None:
        numbers, state = line.numbers, self.state
        moves = any(letter in numbers for letter in AXES)
        if 530 in line.g:
            self._machine_move(line)
            return
        if state.motion in (20, 30):
            if moves or "i" in numbers or "j" in numbers or "r" in numbers:
                self._arc(line)
            return
        if not moves:
            return
        if state.motion is None:
            raise ProgramError("no-motion", "coordinates without a word that says how to move.", line.number)
        if state.motion in (810, 820, 830):
            self._drill(line)
        else:
            self._go(self._target(line), line.number, rapid=state.motion == 0)

    def _machine_move(self, line: Line) -> None:
        if self.state.motion not in (0, 10):
            raise ProgramError("contradiction", "G53 goes with G0 and G1 only.", line.number, "G53")
        self.noticed.note(
            "machine-place",
            "G28, G30 and G53 lead to places of the machine's own, which are not checked.",
            line.number,
        )
        x, y, z = (
            nan if letter in line.numbers else at for letter, at in zip(AXES, self.state.at, strict=True)
        )
        self.state.at = (x, y, z)

    def _target(self, line: Line) -> Point:
        numbers, state = line.numbers, self.state
        shift = self.offsets.get(state.offset, (0.0, 0.0, 0.0))
        if state.unit != 1.0:
            self.inches = True
        x, y, z = (
            at if (value := numbers.get(letter)) is None else self._along(letter, value, at, zero, line)
            for letter, at, zero in zip(AXES, state.at, shift, strict=True)
        )
        return x, y, z

    def _along(self, letter: str, value: float, at: float, zero: float, line: Line) -> float:
        if self.state.absolute:
            return value * self.state.unit + zero
        if isnan(at):
            said = "it moves by so much from a place that is not known."
            raise ProgramError("unknown-place", said, line.number, letter.upper())
        return at + value * self.state.unit

    def _go(self, target: Point, line: int, *, rapid: bool) -> None:
        state = self.state
        known = not unknown(state.at) and not unknown(target)
        if not known and not rapid:
            axis = next(AXES[i].upper() for i in range(3) if isnan(state.at[i]) or isnan(target[i]))
            raise ProgramError("unknown-place", f"it cuts while its place along {axis} is not known.", line)
        if known:
            self._add(state.at, target, line, rapid=rapid)
        state.at = target

    def _add(self, start: Point, end: Point, line: int, *, rapid: bool) -> None:
        state = self.state
        self.used.setdefault(state.offset)
        self.tools.setdefault(state.tool)
        if not rapid and isnan(state.feed):
            raise ProgramError("feed", "it cuts before any feed was set.", line, "F")
        feed = nan if rapid else state.feed
        if state.inverse_time and not rapid:
            feed = state.feed * dist(start, end)
        self.points.append((*start, *end, rapid, feed, line, state.tool))
        if len(self.points) > MOST_MOVES:
            raise ProgramError("too-many-moves", f"it has more than {MOST_MOVES:,} moves.", line)

    def _arc(self, line: Line) -> None:
        state = self.state
        if state.plane != 170:
            raise ProgramError("plane", "arcs are read in the plane of X and Y (G17) only.", line.number)
        if "k" in line.numbers:
            raise ProgramError(
                "arc", "K does not belong to an arc in the plane of X and Y.", line.number, "K"
            )
        end, start = self._target(line), state.at
        if unknown(start) or unknown(end):
            raise ProgramError("unknown-place", "it cuts an arc from a place that is not known.", line.number)
        arc = self._arc_of(line, start, end)
        if arc.radii_differ > RADII_AGREE:
            said = (
                "Arcs whose ends lie at radii that differ by more than 0.002 mm, as rounding to three decimals makes "
                "them: some controls stop there. Write arcs with four decimals."
            )
            self.noticed.note("radii", said, line.number)
        at = start
        for x, y, z in arc.points(start, end).tolist():
            self._add(at, (x, y, z), line.number, rapid=False)
            at = (x, y, z)
        state.at = end

    def _arc_of(self, line: Line, start: Point, end: Point) -> Arc:
        numbers, state = line.numbers, self.state
        clockwise = state.motion == 20
        centred = "i" in numbers or "j" in numbers
        if "r" in numbers and centred:
            raise ProgramError("arc", "an arc has a centre or a radius, not both.", line.number, "R")
        if "r" in numbers:
            return by_radius(start, end, numbers["r"] * state.unit, clockwise=clockwise, line=line.number)
        if not centred:
            raise ProgramError("arc", "an arc needs its centre (I, J) or its radius (R).", line.number)
        shift = self.offsets.get(state.offset, (0.0, 0.0, 0.0))
        from_x, from_y = (shift[0], shift[1]) if state.centre_absolute else (start[0], start[1])
        i = numbers.get("i", start[0] / state.unit if state.centre_absolute else 0.0)
        j = numbers.get("j", start[1] / state.unit if state.centre_absolute else 0.0)
        centre = (from_x + i * state.unit, from_y + j * state.unit)
        return by_centre(start, end, centre, clockwise=clockwise, line=line.number)

    def _drill(self, line: Line) -> None:
        """G81, G82, G83: over each place, down to Z, up again (3.5.16)."""
        state = self.state
        if unknown(state.at):
            raise ProgramError("unknown-place", "it drills from a place that is not known.", line.number)
        for _ in range(begin(state, line)):
            self._drill_once(line)

    def _drill_once(self, line: Line) -> None:
        state, before = self.state, self.state.at[2]
        clear, low = heights(state, self.offsets.get(state.offset, (0.0, 0.0, 0.0))[2], line.number)
        flat = {letter: line.numbers[letter] for letter in "xy" if letter in line.numbers}
        x, y, _ = self._target(replace(line, numbers=flat))
        if before < clear:
            self._go((*state.at[:2], clear), line.number, rapid=True)
        self._go((x, y, state.at[2]), line.number, rapid=True)
        self._go((x, y, clear), line.number, rapid=True)
        for depth in pecks(state, clear, low, line.number):
            self._go((x, y, depth), line.number, rapid=False)
            if state.motion == 830 and depth > low:
                self._go((x, y, clear), line.number, rapid=True)
        if state.motion == 820:
            self.dwell += state.cycle.get("p", 0.0)
        top = clear if state.return_to_r else max(before, clear)
        self._go((x, y, top), line.number, rapid=True)

    # the end

    def program(self, lines: int) -> Program:
        if not self.points:
            raise ProgramError("no-moves", "it moves nothing.")
        rows = np.array(self.points, np.float64)
        moves = Moves(
            rows[:, 0:3],
            rows[:, 3:6],
            rows[:, 6].astype(bool),
            rows[:, 7],
            rows[:, 8].astype(np.int32),
            rows[:, 9].astype(np.int32),
        )
        return Program(
            moves,
            tuple(self.noticed.found.values()),
            lines,
            self.inches,
            tuple(self.tools),
            tuple(self.used),
            self.dwell,
            self.changes,
            tuple(self.comments)[:10],
        )


def read_program(lines: Iterable[str], offsets: Offsets | None = None) -> Program:
    """Read a program.

    Args:
        lines: of the file, in order; read one by one, so that a large file need not be in memory.
        offsets: where further work offsets' zeros lie, mm from that of the first one used.

    Raises:
        ProgramError: the line and word that cannot be checked, and why.
    """
    reader = _Reader(offsets or {})
    number, percents, size = 0, 0, 0
    for number, text in enumerate(lines, start=1):
        size += len(text)
        if size > MOST_BYTES:
            raise ProgramError("too-large", f"it is larger than {MOST_BYTES // 1_000_000} MB.", number)
        stripped = text.strip()
        if stripped == "%":
            percents += 1
            if percents == 2:
                break
            continue
        if not reader.plain(stripped, number):
            reader.line(stripped, number)
    if not reader.state.ended and percents < 2:
        said = "The file has no end of its own (M2, M30 or a second %): it may have been cut short."
        reader.noticed.note("no-end", said, number)
    return reader.program(number)
