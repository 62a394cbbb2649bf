"""The service's part in reading strangers' files, in a process of its own whose memory can be watched.

It takes files, hands them to the killable processes, and answers; the files are made, and the answers kept, elsewhere.
"""

from __future__ import annotations

import multiprocessing
import re
import time
from collections.abc import Iterator, Mapping
from concurrent.futures import ThreadPoolExecutor
from contextlib import contextmanager
from dataclasses import dataclass
from multiprocessing.connection import Connection
from pathlib import Path
from threading import Lock

from artwork.errors import EngineError
from artwork.intake.foreign import Converted, Foreign, ForeignError
from service.work.processes import LOADED, Cage, Limits, Processes


@dataclass(frozen=True)
class Answer:
    """What became of one file: ``"taken"``, a code, or the words of an error that is neither; and how long it took."""

    number: int
    code: str
    seconds: float


@dataclass(frozen=True)
class Became:
    """A code, and what is to be converted before there is one."""

    code: str
    parts: tuple[Foreign, ...] = ()


def read(data: bytes, drawings: Mapping[str, Converted]) -> Became:
    """``"taken"``, or the code of the refusal. Runs in a killable process."""
    try:
        return Became(_read(data, drawings))
    except ForeignError as foreign:
        return Became("", foreign.parts)


def _read(data: bytes, drawings: Mapping[str, Converted]) -> str:
    from artwork.intake import read_artwork

    try:
        reading = read_artwork(data, "upload", drawings=drawings)
    except ForeignError:
        raise
    except EngineError as refusal:
        return refusal.code
    left, low, right, high = reading.outline.bounds
    if not (left < right and low < high and reading.outline.nodes > 0 and reading.picture):
        raise AssertionError("a reading of nothing was given out")
    return "taken"


@dataclass
class Service:
    """The process, from outside."""

    pipe: Connection
    pid: int

    def ask(self, number: int, data: bytes) -> None:
        self.pipe.send((number, data))

    def answered(self) -> Answer:
        answer: Answer = self.pipe.recv()
        return answer

    def memory(self) -> tuple[float, float]:
        """Resident memory of the process now, and the most since it began, MB; its children are not in it."""
        status = Path(f"/proc/{self.pid}/status").read_text()
        now, peak = (
            int(match[1]) / 1024
            for name in ("VmRSS", "VmHWM")
            if (match := re.search(rf"{name}:\s+(\d+) kB", status))
        )
        return now, peak


@contextmanager
def service(places: int, limits: Limits) -> Iterator[Service]:
    """Runs the process, with so many places for files to be read at once."""
    context = multiprocessing.get_context("spawn")
    mine, theirs = context.Pipe()
    process = context.Process(target=_serve, args=(theirs, places, limits))
    process.start()
    theirs.close()
    try:
        yield Service(mine, process.pid or 0)
    finally:
        mine.send(None)
        process.join()


def _serve(pipe: Connection, places: int, limits: Limits) -> None:
    processes = Processes(places, limits, cage=Cage((*LOADED, __name__)))
    processes.warm()
    sending = Lock()

    def one(number: int, data: bytes) -> None:
        start = time.monotonic()
        try:
            drawings: dict[str, Converted] = {}
            while (became := processes.run(read, data, drawings)).parts:
                drawings.update((part.digest, processes.convert(part)) for part in became.parts)
            code = became.code
        except EngineError as refusal:
            code = refusal.code
        except Exception as error:  # noqa: BLE001 - any other error is what is looked for
            code = f"{type(error).__name__}: {error}"
        with sending:
            pipe.send(Answer(number, code, time.monotonic() - start))

    with ThreadPoolExecutor(places) as threads:
        while (asked := pipe.recv()) is not None:
            threads.submit(one, *asked)
    processes.stop()
