"""Which file of tests goes to which process, and when: the long ones first, so that all processes end together."""

from __future__ import annotations

from xdist.scheduler import LoadFileScheduling
from xdist.workermanage import WorkerController

LONGEST = (
    "tests/pages/test_accessible.py",
    "tests/pages/",
    "tests/faults/",
    "tests/journeys/",
    "tests/hostile/",
    "tests/service/work/",
    "tests/service/batches/",
    "tests/supply/",
    "tests/clients/",
    "tests/schema/",
    "tests/access/",
    "tests/service/",
)
"""Rooms and files by how long one of their files takes, the longest first; all others take seconds."""


def rank(file: str) -> int:
    """The place of a file in the order of files."""
    return next((place for place, room in enumerate(LONGEST) if file.startswith(room)), len(LONGEST))


class WholeFiles(LoadFileScheduling):
    """Gives files to processes, in the order of the tests. What a process that died has left goes to the others."""

    def remove_node(self, node: WorkerController) -> str | None:
        """Take a process out; the test at which it died, which is not tried again.

        The library would hand on files that are over, too: such a task wakes nobody, and the run would never end.
        """
        left = self.assigned_work.pop(node)
        died_at = next((test for tests in left.values() for test, over in tests.items() if not over), None)
        for file, tests in left.items():
            rest = {test: False for test, over in tests.items() if not over and test != died_at}
            if rest:
                self.workqueue[file] = rest
        for other in self.assigned_work:
            self._reschedule(other)
        return died_at

    def _reschedule(self, node: WorkerController) -> None:
        """Give a process more to do: it begins its last test only when it knows what comes after."""
        super()._reschedule(node)
        if not node.shutting_down and self._pending_of(self.assigned_work[node]) < 2:
            self._reschedule(node)
