"""A worker process for tests: the real one, with short silences, and able to stop before it judges.

``python -m tests.service.work.worker [HOLD]``: settings from the environment; with ``HOLD`` it writes the file
``HOLD.held`` before each judging of a cut and goes on once ``HOLD.go`` is there; it writes ``HOLD.away`` where the
database is away.
"""

from __future__ import annotations

import sys
import threading
import time
from functools import partial
from pathlib import Path
from typing import Any

from service import root
from service.settings import load_settings
from service.work import outages
from service.work.durable import Worker
from service.work.worker_registry import Watch, WorkerRegistry

BEAT, SILENCE = 0.3, 1.5
STRUCK = 75


def main() -> int:
    root.WorkerRegistry = partial(WorkerRegistry, beat_seconds=BEAT, watch=Watch(SILENCE))  # type: ignore[misc, assignment]
    outages.LONGEST_WAIT_SECONDS = 0.1
    service = root.build(load_settings(role="worker"))
    if len(sys.argv) > 1:
        hold(service.processes, Path(sys.argv[1]))
    service.start()
    asked = threading.Event()
    threading.Thread(target=lambda: (sys.stdin.read(), asked.set()), daemon=True).start()
    while not (service.struck.is_set() or asked.wait(0.05)):
        pass
    service.stop()
    return STRUCK if service.struck.is_set() else 0


def hold(processes: Any, path: Path) -> None:
    run = processes.run

    def held(function: Any, *args: Any, **how: Any) -> Any:
        found = run(function, *args, **how)
        if function.__name__ == "judge":
            path.with_suffix(".held").touch()
            while not path.with_suffix(".go").exists():
                time.sleep(0.02)
        return found

    processes.run = held
    reach = Worker._reach_database

    def told(worker: Worker) -> None:
        try:
            reach(worker)
        except Exception:
            path.with_suffix(".away").touch()
            raise

    Worker._reach_database = told  # type: ignore[method-assign]


if __name__ == "__main__":
    sys.exit(main())
