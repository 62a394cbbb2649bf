"""Processes that can be killed: strangers' files are read, and cuts are judged, outside the service itself.

Each of a fixed number of places runs one computation at a time in a process of its own (Pebble, spawned),
with a limit on address space and on time. A computation that breaks its process is answered with a
``Refusal``; its neighbours do not notice. A call may name what it works on, and goes to the place that last
had that in hand, whose process may still hold what it made of it.
"""

from __future__ import annotations

import ctypes
import math
import multiprocessing
import os
import resource
import signal
import threading
import time
from collections import deque
from collections.abc import Callable, Iterable, Iterator
from concurrent.futures import CancelledError, Future, ThreadPoolExecutor, TimeoutError
from concurrent.futures.process import BrokenProcessPool
from dataclasses import dataclass
from functools import partial
from typing import Any, TypeVar, cast

from pebble import ProcessExpired, ProcessFuture, ProcessPool

from artwork.refusal import Refusal
from service.orders.errors import TooMany

R = TypeVar("R")

_PR_SET_PDEATHSIG = 1
_TASKS_PER_PROCESS = 500  # a fresh process now and then gives back what a native library may leak
_START_SECONDS = 60.0
"""Longest start of a process, its imports included, on a machine that is busy with other things."""


class ComputeFault(Exception):  # noqa: N818
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


@dataclass(eq=False)
class _Place:
    """One process and what it has in hand; used by one caller at a time."""

    pool: ProcessPool | None = None
    holds: str | None = None
    used_at: float = 0.0
    taken: bool = False


class Processes:
    """A fixed number of killable processes; start with ``warm``, end with ``stop``."""

    def __init__(self, places: int, limits: Limits = Limits(), idle_seconds: float = 120.0) -> None:
        self._places = [_Place() for _ in range(places)]
        self._limits = limits
        self._idle_seconds = idle_seconds
        self._free = threading.Condition()
        # A process is also ended when the thread that started it ends, so one lasting thread starts them all.
        self._starter = ThreadPoolExecutor(1, thread_name_prefix="processes-starter")
        self._stopped = False

    def warm(self) -> None:
        """Start the first process now, so that the first caller does not wait for its imports."""
        place = self._take(None, None)
        try:
            place.pool = place.pool or self._new_pool()
        finally:
            self._give_back(place)

    def run(
        self,
        function: Callable[..., R],
        *args: Any,
        about: str | None = None,
        seconds: float | None = None,
        wait: float | None = None,
    ) -> R:
        """Run ``function(*args)`` in a process and return what it returns.

        Args:
            function: importable by name in the process.
            *args: picklable.
            about: what the call works on (an outline's digest); the place that last had it is preferred.
            seconds: longest run, where it differs from the usual.
            wait: longest wait for a free place; ``None`` waits as long as it takes.

        Raises:
            Refusal: ``too-slow``, ``too-much-work``, ``too-much-memory`` or ``crashed``, besides the function's
                own.
            ComputeFault: the function raised anything but a Refusal.
            TooMany: no place became free within ``wait``.
        """
        place = self._take(about, wait)
        return self._run_at(place, partial(function, *args), seconds)

    def run_each(self, function: Callable[..., R], calls: Iterable[tuple[Any, ...]]) -> Iterator[R]:
        """Run ``function(*call)`` for each of many calls, several side by side; answers in the calls' order.

        One place is left to others, and calls are taken no further ahead than there are places, so that neither
        people who wait nor memory suffer from a long list.

        Args:
            function: importable by name in the process.
            calls: its arguments, call by call, picklable.

        Raises:
            Refusal, ComputeFault: as :meth:`run`, for the first call that ends so; later ones are given up.
        """
        at_once = max(len(self._places) - 1, 1)

        def one(call: tuple[Any, ...]) -> R:
            place = self._take(None, None, leave=len(self._places) - at_once)
            return self._run_at(place, partial(function, *call))

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

    def _run_at(self, place: _Place, work: partial[R], seconds: float | None = None) -> R:
        try:
            return self._run(place, work, seconds or self._limits.seconds)
        finally:
            self._give_back(place)

    def stop(self) -> None:
        """End every process, at once."""
        self._stopped = True
        for place in self._places:
            self._drop(place)
        self._starter.shutdown()

    def rest(self) -> None:
        """End processes that nobody used for a while, all but the first; call this now and then."""
        for place in self._places[1:]:
            with self._free:
                idle = not place.taken and time.monotonic() - place.used_at > self._idle_seconds
                if not idle or place.pool is None:
                    continue
                place.taken = True
            self._drop(place)
            self._give_back(place)

    def _take(self, about: str | None, wait: float | None, leave: int = 0) -> _Place:
        """A place for one computation, once more than ``leave`` of them are free. TooMany."""
        deadline = None if wait is None else time.monotonic() + wait
        with self._free:
            while True:
                free = [place for place in self._places if not place.taken]
                if len(free) > leave:
                    place = min(free, key=lambda place: self._preference(place, about))
                    place.taken = True
                    place.holds = about
                    return place
                left = None if deadline is None else deadline - time.monotonic()
                if left is not None and left <= 0:
                    raise TooMany(retry_after=5.0)
                self._free.wait(left)

    @staticmethod
    def _preference(place: _Place, about: str | None) -> tuple[bool, bool, float]:
        return (about is None or place.holds != about, place.pool is None, -place.used_at)

    def _give_back(self, place: _Place) -> None:
        with self._free:
            place.taken = False
            place.used_at = time.monotonic()
            self._free.notify_all()  # those who leave a place to others may not be the ones who can go on

    def _run(self, place: _Place, work: partial[R], seconds: float) -> R:
        if place.pool is None or not place.pool.active:
            self._drop(place)
            place.pool = self._new_pool()
        future = place.pool.schedule(_guarded, args=(work, self._limits.cpu_seconds))
        # The wait is measured here on the monotonic clock: Pebble's own timeout follows the wall clock, and
        # a clock set forward would end every computation under way.
        try:
            _wait_for_start(future)
            answer = future.result(timeout=seconds)
        except TimeoutError:
            self._drop(place)
            raise Refusal(
                "too-slow",
                f"This file takes longer than {seconds:.0f} s to work out.",
                "Send a simpler drawing: fewer points, or a smaller picture.",
            ) from None
        except (ProcessExpired, BrokenProcessPool, CancelledError) as error:
            self._drop(place)
            if getattr(error, "exitcode", None) == -signal.SIGXCPU:
                raise Refusal(
                    "too-much-work",
                    f"This file takes more than {self._limits.cpu_seconds:.0f} s of computing.",
                    "Send a simpler drawing: fewer points, or a smaller picture.",
                ) from error
            raise Refusal(
                "crashed",
                "Reading this file ended the program that reads it.",
                "Save it afresh from the program that drew it, as SVG or PNG, and send that.",
            ) from error
        except Refusal:
            raise
        except Exception as error:
            raise ComputeFault(f"{type(error).__name__}: {error}") from error
        if isinstance(answer, _OutOfMemory):
            self._drop(place)
            raise Refusal(
                "too-much-memory",
                "This file needs more memory than one file may use.",
                "Send a smaller picture, or the drawing as SVG.",
            )
        return cast("R", answer)

    def _drop(self, place: _Place) -> None:
        pool, place.pool = place.pool, None
        place.holds = None
        if pool is not None:
            pool.stop()  # type: ignore[no-untyped-call]
            pool.join()

    def _new_pool(self) -> ProcessPool:
        if self._stopped:
            raise TooMany(retry_after=5.0)
        return self._starter.submit(self._start).result()

    def _start(self) -> ProcessPool:
        pool = ProcessPool(
            max_workers=1,
            max_tasks=_TASKS_PER_PROCESS,
            initializer=_begin,
            initargs=(os.getpid(), self._limits.memory),
            context=multiprocessing.get_context("spawn"),
        )
        pool.schedule(os.getpid)  # Pebble starts the process with its first task
        return pool


def _wait_for_start(future: ProcessFuture[Any]) -> None:
    """Wait until the process has taken the computation up: a fresh one first loads what it needs."""
    end = time.monotonic() + _START_SECONDS
    pause = 0.0005
    while not (future.running() or future.done()) and time.monotonic() < end:
        time.sleep(pause)
        pause = min(2 * pause, 0.02)


class _OutOfMemory:
    """Answered instead of an error, so that the place can be given a fresh process."""


def _guarded(work: partial[Any], cpu_seconds: float) -> Any:
    usage = resource.getrusage(resource.RUSAGE_SELF)  # the limit counts from the process's start
    end = math.ceil(usage.ru_utime + usage.ru_stime + cpu_seconds)
    resource.setrlimit(resource.RLIMIT_CPU, (end, resource.RLIM_INFINITY))
    try:
        return work()
    except MemoryError:
        return _OutOfMemory()
    except Exception as error:
        # GEOS and OpenCV say it in their own way.
        if any(words in str(error) for words in ("bad_alloc", "nsufficient memory")):
            return _OutOfMemory()
        raise


def _begin(parent: int, memory: int) -> None:
    """Set the limits of a new process, tie its life to its parent's, and load the engine."""
    ctypes.CDLL(None, use_errno=True).prctl(_PR_SET_PDEATHSIG, signal.SIGKILL)
    if os.getppid() != parent:  # the parent ended before the line above took hold
        os._exit(1)
    resource.setrlimit(resource.RLIMIT_AS, (memory, memory))
    resource.setrlimit(resource.RLIMIT_CORE, (0, 0))
    # One thread each: the processes already share the cores, and every BLAS thread reserves address space.
    os.environ.update(OPENBLAS_NUM_THREADS="1", OMP_NUM_THREADS="1", MKL_NUM_THREADS="1")
    from service.work import tasks

    tasks.load()
