"""Does the work in flight of place after place, each brought up by this version: one process, as DBOS keeps one state.

A line of settings as JSON comes in, a line goes out once nothing is open there.
"""

from __future__ import annotations

import sys
import time
from collections.abc import Callable, Iterable, Mapping
from dataclasses import replace
from typing import Any

from dbos import DBOS

from artwork.intake.foreign import Converted, Foreign
from service.maintenance import let_go
from service.orders.ids import new_id
from service.orders.work import JobKind
from service.root import build
from service.settings import Settings
from service.usecases.jobs import BODIES, fail_job
from service.usecases.rejudging import judge_drafts_again
from service.work import programs
from service.work.durable import Worker

LONGEST_SECONDS = 30.0


class HereCompute:
    """Arithmetic in this process: starting others takes seconds, and which process works is not what is tested."""

    def run(self, function: Callable[..., Any], *args: Any, **_options: object) -> Any:
        """See ``service.usecases.context.Compute``."""
        return function(*args)

    def convert(self, part: Foreign) -> Converted:
        """See ``service.usecases.context.Compute``."""
        return programs.convert(part)

    def run_each(self, function: Callable[..., Any], calls: Iterable[tuple[Any, ...]]) -> Any:
        """See ``service.usecases.context.Compute``."""
        return (function(*call) for call in calls)


def main() -> None:
    for line in sys.stdin:
        finish(Settings.model_validate_json(line))
        sys.stdout.write("done\n")
        sys.stdout.flush()


def finish(settings: Settings) -> None:
    service = build(settings)
    service.migrate()
    ctx = replace(service.ctx, compute=HereCompute())
    judge_drafts_again(ctx)  # as the first housekeeping of this version does

    def work(kind: str, payload: Mapping[str, Any]) -> None:
        BODIES[JobKind(kind)](ctx, payload)

    engine, queue = service.queue.load()
    ends = (work, lambda _kind, *rest: fail_job(ctx, *rest), lambda *_: None)
    worker = Worker(engine, queue, *ends, bells=service.database.bells, at_once=1)
    worker.start(new_id())
    end = time.monotonic() + LONGEST_SECONDS
    # By the engine's own books: the row of a job is done a moment before its workflow is.
    while DBOS.list_workflows(status=["ENQUEUED", "PENDING", "DELAYED"]) and time.monotonic() < end:
        time.sleep(0.02)
    worker.stop(0)
    let_go(service)


if __name__ == "__main__":
    main()
