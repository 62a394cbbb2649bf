"""Memory of the small shape: the service itself, and the processes for arithmetic that it started."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path


@dataclass(frozen=True)
class Memory:
    """Proportional memory (PSS), MB.

    Attributes:
        service: of the process that answers.
        whole: of it and all it started.
        others: how many it started.
    """

    service: float
    whole: float
    others: int


def memory_of(pid: int) -> Memory:
    """Memory of a process and its children now."""
    service, children = _proportional_mb(Path(f"/proc/{pid}")), []
    for path in Path("/proc").glob("[0-9]*/status"):
        try:
            fields = dict(line.split(":", 1) for line in path.read_text().splitlines() if ":" in line)
            if int(fields["PPid"]) == pid:
                children.append(_proportional_mb(path.parent))
        except OSError:
            continue  # it ended meanwhile
    return Memory(service, service + sum(children), len(children))


def _proportional_mb(process: Path) -> float:
    rollup = (process / "smaps_rollup").read_text()
    return next(int(line.split()[1]) for line in rollup.splitlines() if line.startswith("Pss:")) / 1024
