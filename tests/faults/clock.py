"""A wall clock that can be set for the processes of a shape, and for them alone."""

from __future__ import annotations

import mmap
import struct
import subprocess
from pathlib import Path

_SOURCE = Path(__file__).with_name("clock.c")


class Clock:
    """Give ``environ`` to a process; ``set_ahead`` moves its wall clock at once, running or not."""

    def __init__(self, home: Path) -> None:
        library = home / "clock.so"
        subprocess.run(["cc", "-shared", "-fPIC", "-O1", "-o", library, _SOURCE, "-ldl"], check=True)
        self._file = home / "clock"
        self._file.write_bytes(struct.pack("l", 0))
        self.environ = {"LD_PRELOAD": str(library), "TEST_CLOCK_AHEAD": str(self._file)}

    def set_ahead(self, seconds: int) -> None:
        """So many seconds ahead of the machine's clock; behind it, where negative."""
        with self._file.open("r+b") as file, mmap.mmap(file.fileno(), struct.calcsize("l")) as page:
            page[:] = struct.pack("l", seconds)
