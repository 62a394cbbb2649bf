"""Processes that can be killed: strangers' files are read, and cuts are judged, outside the service itself.

Each of a fixed number of places runs one computation at a time in a caged process of its own (``service.work.cage``),
with a limit on address space and on time. A computation that breaks its process is tried once more in a fresh one
and then answered with a ``EngineError``; its neighbours do not notice. A call may name what it works on, and
goes to the
place that last had that in hand, whose process may still hold what it made of it. A process that has read a
stranger's file reads nothing else afterwards.
"""

from __future__ import annotations

import logging
import math
import os
import resource
import signal
import threading
import time
from collections import deque
from collections.abc import Callable, Iterable, Iterator
from concurrent.futures import Future, ThreadPoolExecutor
from contextlib import suppress
from dataclasses import dataclass, field
from functools import partial
from pathlib import Path
from typing import Any, TypeVar, cast

from artwork.errors import EngineError
from artwork.intake.foreign import Converted, Foreign
from service.orders.errors import TooManyError
from service.work import programs
from service.work.cage import messages
from service.work.cage.confinement import Confined
from service.work.cage.template import CagedProcess, Template, TemplateGoneError
from service.work.places import Place, Places

R = TypeVar("R")
log = logging.getLogger("slatproof")

_TASKS_PER_PROCESS = 500  # a fresh process now and then gives back what a native library may leak
_GENTLE = 10
"""Niceness of work that lets others go first: about a tenth of a processor beside one that works."""
_GENTLE_PATIENCE = 3
"""How much longer it may take for that."""
_START_SECONDS = 60.0
"""Longest start of a process, on a machine that is busy with other things."""
LOADED = ("service.work.tasks",)
"""What the caged processes hold ready."""


class ComputeFaultError(Exception):
    """The computation failed in a way that nobody foresaw; doing it again would fail again."""


@dataclass(frozen=True)
class Limits:
    """What one computation may use.

    Attributes:
        seconds: longest run, from the moment its process takes it up; starting a process does not count.
        memory: address space of its process, bytes.
        cpu_seconds: most time on processors, all threads together.
    """

    seconds: float = 60.0
    memory: int = 3072 * 1024 * 1024
    cpu_seconds: float = 120.0


class UncagedError(Exception):
    """This machine cannot shut in what reads strangers' files, and the settings ask for it."""


@dataclass(frozen=True)
class _How:
    """How one computation is run.

    Attributes:
        seconds: longest run.
        cpu_seconds: most processor time.
        gentle: whether everything else on the machine goes first.
        alone: whether its process does nothing else afterwards.
    """

    seconds: float
    cpu_seconds: float
    gentle: bool = False
    alone: bool = False


@dataclass(frozen=True)
class Cage:
    """How computations are shut in.

    Attributes:
        loaded: modules that every process holds ready.
        required: whether to refuse to compute where this machine cannot shut a process in whole.
    """

    loaded: tuple[str, ...] = field(default=LOADED)
    required: bool = False


class Processes:
    """A fixed number of killable processes; start with ``warm``, end with ``stop``."""

    def __init__(
        self,
        places: int,
        limits: Limits = Limits(),
        idle_seconds: float = 120.0,
        cage: Cage = Cage(),
        *,
        for_drawing: int = 0,
    ) -> None:
        """With so many places for everything, and more that only pictures are drawn in."""
        self._places = Places(places, for_drawing)
        self._limits = limits
        self._idle_seconds = idle_seconds
        self._cage = cage
        self._templates = threading.Lock()
        self._template: Template | None = None
        self._stopped = False
        self._told = False

    def warm(self) -> None:
        """Start the first process now, so that the first caller does not wait for what it loads. UncagedError."""
        place = self._places.take(None, None)
        try:
            if place.process is None:
                self._start(place)
        finally:
            self._places.give_back(place)

    def run(
        self,
        function: Callable[..., R],
        *args: Any,
        about: str | None = None,
        seconds: float | None = None,
        cpu_seconds: float | None = None,
        wait: float | None = None,
        stranger: bool = False,
        whose: str | None = None,
        gentle: bool = False,
        drawing: bool = False,
    ) -> R:
        """Run ``function(*args)`` in a process and return what it returns.

        Args:
            function: importable by name in the process; what it returns is built from plain values by its
                declared return type.
            *args: picklable.
            about: what the call works on (an outline's digest); the place that last had it is preferred.
            seconds: longest run, where it differs from the usual.
            cpu_seconds: most processor time, where it differs from the usual.
            wait: longest wait for a free place; ``None`` waits as long as it takes.
            stranger: whether it reads bytes that a stranger sent: its process reads nothing else afterwards.
            whose: no more than half of the places are taken at once for one of these.
            gentle: let everything else on the machine go first; its process does nothing else afterwards.
            drawing: whether it draws a picture that somebody waits for: places are kept for those.

        Raises:
            EngineError: ``too-slow``, ``too-much-work``, ``too-much-memory`` or ``crashed``, besides the function's
                own.
            ComputeFaultError: the function raised anything but a EngineError.
            TooManyError: no place became free within ``wait``.
        """
        place = self._places.take(about, wait, whose=whose, drawing=drawing)
        usual = self._limits
        longest = (seconds or usual.seconds) * (_GENTLE_PATIENCE if gentle else 1)
        how = _How(longest, cpu_seconds or usual.cpu_seconds, gentle=gentle, alone=stranger or gentle)
        return self._run_at(place, partial(function, *args), how)

    def convert(self, part: Foreign) -> Converted:
        """What another program, shut in, makes of a file that is not read here. See ``service.work.programs``."""
        return programs.convert(part)

    def run_each(self, function: Callable[..., R], calls: Iterable[tuple[Any, ...]]) -> Iterator[R]:
        """Run ``function(*call)`` for each of many calls, several side by side; answers in the calls' order.

        One place is left to others, and calls are taken no further ahead than there are places, so that neither
        people who wait nor memory suffer from a long list.

        Args:
            function: importable by name in the process.
            calls: its arguments, call by call, picklable.

        Raises:
            EngineError, ComputeFaultError: as :meth:`run`, for the first call that ends so; later ones are given up.
        """
        at_once = max(self._places.usual - 1, 1)

        def one(call: tuple[Any, ...]) -> R:
            place = self._places.take(None, None, leave=self._places.usual - at_once)
            usual = _How(self._limits.seconds, self._limits.cpu_seconds)
            return self._run_at(place, partial(function, *call), usual)

        with ThreadPoolExecutor(at_once, thread_name_prefix="processes-caller") as callers:
            ahead: deque[Future[R]] = deque()
            try:
                for call in calls:
                    ahead.append(callers.submit(one, call))
                    if len(ahead) > at_once:
                        yield ahead.popleft().result()
                while ahead:
                    yield ahead.popleft().result()
            finally:
                for future in ahead:
                    future.cancel()

    def _run_at(self, place: Place, work: partial[R], how: _How) -> R:
        try:
            return self._run(place, work, how)
        finally:
            if how.alone:
                self._drop(place)
            self._places.give_back(place)

    def stop(self) -> None:
        """End every process, at once."""
        self._stopped = True
        for place in self._places.every:
            self._drop(place)
        with self._templates:
            if self._template is not None:
                self._template.stop()
                self._template = None

    def rest(self) -> None:
        """End processes that nobody used for a while, all but the first; call this now and then."""
        for place in self._places.idle(self._idle_seconds):
            self._drop(place)
            self._places.give_back(place)

    def _run(self, place: Place, work: partial[R], how: _How) -> R:
        try:
            return self._once(place, work, how)
        except _EndedError:  # perhaps killed for want of memory that others took: the file is not blamed yet
            log.warning("a computation ended its process and is tried once more")
        try:
            return self._once(place, work, how)
        except _EndedError as ended:
            raise EngineError(
                "crashed",
                "Reading this file ended the program that reads it.",
                "Save it afresh from the program that drew it, as SVG or PNG, and send that.",
            ) from ended

    def _once(self, place: Place, work: partial[R], how: _How) -> R:
        """Run it in the place's process. _Ended: that ended, or answered what is no answer."""
        if place.tasks >= _TASKS_PER_PROCESS:
            self._drop(place)
        process = place.process or self._start(place)
        place.tasks += 1
        end = time.monotonic() + how.seconds  # not by the wall clock, which may be set while it runs
        try:
            self._limit_processor_time(process.pid, how.cpu_seconds)
            if how.gentle:
                os.setpriority(os.PRIO_PROCESS, process.pid, os.getpriority(os.PRIO_PROCESS, 0) + _GENTLE)
            answer = messages.ask(process.channel, work, end)
            return cast("R", messages.read_answer(answer, work.func))
        except TimeoutError:
            self._drop(place)
            raise EngineError(
                "too-slow",
                f"This file takes longer than {how.seconds:.0f} s to work out.",
                "Send a simpler drawing: fewer points, or a smaller picture.",
            ) from None
        except messages.BadAnswerError as error:
            self._drop(place)
            log.warning("a caged process answered what is no answer", extra={"reason": str(error)})
            raise _EndedError from error
        except (messages.GoneError, OSError) as error:
            if os.WTERMSIG(self._status(place)) != signal.SIGXCPU:
                raise _EndedError from error
            raise EngineError(
                "too-much-work",
                f"This file takes more than {how.cpu_seconds:.0f} s of computing.",
                "Send a simpler drawing: fewer points, or a smaller picture.",
            ) from error
        except MemoryError:
            self._drop(place)
            raise EngineError(
                "too-much-memory",
                "This file needs more memory than one file may use.",
                "Send a smaller picture, or the drawing as SVG.",
            ) from None
        except messages.FaultyError as error:
            raise ComputeFaultError(str(error)) from None

    @staticmethod
    def _limit_processor_time(pid: int, seconds: float) -> None:
        """Set from outside, where what runs inside cannot raise it; it counts from the process's start."""
        with suppress(OSError, IndexError, ValueError):  # it has ended: the answer says so
            words = Path(f"/proc/{pid}/stat").read_text("utf-8").rpartition(")")[2].split()
            user, system = words[11:13]
            used = (int(user) + int(system)) / os.sysconf("SC_CLK_TCK")
            limit = math.ceil(used + seconds)
            resource.prlimit(pid, resource.RLIMIT_CPU, (limit, resource.RLIM_INFINITY))

    def _start(self, place: Place) -> CagedProcess:
        for again in (False, True):
            template = self._template_now(fresh=again)
            try:
                place.process, place.tasks = template.fork(), 0
                self._note(messages.receive(place.process.channel, time.monotonic() + _START_SECONDS))
                return place.process
            except (TemplateGoneError, messages.GoneError, messages.FaultyError, TimeoutError) as error:
                failure: Exception = error
                self._drop(place)
        raise ComputeFaultError(f"no process for carving arithmetic could be started: {failure}")

    def _template_now(self, *, fresh: bool) -> Template:
        with self._templates:
            if self._stopped:
                raise TooManyError(retry_after=5.0)
            if fresh and self._template is not None:
                self._template.stop()
                self._template = None
            if self._template is None:
                self._template = Template(self._cage.loaded, self._limits.memory)
            return self._template

    def _note(self, said: bytearray) -> None:
        """How far the first process is shut in: told once. UncagedError."""
        confined = cast("Confined", messages.read_answer(said, _confined))
        if confined.lacks and self._cage.required:
            raise UncagedError(f"Strangers' files cannot be read safely here: {'; '.join(confined.lacks)}.")
        if confined.lacks and not self._told:
            log.warning("what reads strangers' files is not shut in whole", extra={"lacks": confined.lacks})
        self._told = True

    def _status(self, place: Place) -> int:
        """How the place's process ended, by itself."""
        process, place.process, place.holds = place.process, None, None
        template = self._template
        if process is None or template is None:
            return signal.SIGKILL
        status = template.status(process)
        process.channel.close()
        return status

    def _drop(self, place: Place) -> None:
        process, place.process = place.process, None
        place.holds = None
        template = self._template
        if process is not None and template is not None:
            template.end(process)


class _EndedError(Exception):
    """A process ended without an answer, by no limit of ours."""


def _confined() -> Confined:
    """Declares what a caged process says first."""
    raise NotImplementedError
