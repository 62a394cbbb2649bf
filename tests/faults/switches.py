"""Libraries of ours in a shape's processes, each with a number that is set while they run."""

from __future__ import annotations

import mmap
import struct
import subprocess
from pathlib import Path

_HERE = Path(__file__).parent


class Switch:
    """One library, made from ``name.c`` in this folder, and the number it looks at."""

    def __init__(self, home: Path, name: str, variable: str) -> None:
        self.library = home / f"{name}.so"
        source = _HERE / f"{name}.c"
        subprocess.run(["cc", "-shared", "-fPIC", "-O1", "-o", self.library, source, "-ldl"], check=True)
        self._file = home / name
        self._file.write_bytes(struct.pack("l", 0))
        self.environ = {variable: str(self._file)}

    def set(self, number: int) -> None:
        """Every process that has the library sees it at once."""
        with self._file.open("r+b") as file, mmap.mmap(file.fileno(), struct.calcsize("l")) as page:
            page[:] = struct.pack("l", number)


def clock(home: Path) -> Switch:
    """The wall clock of a shape's processes: so many seconds ahead of the machine's, behind it where negative."""
    return Switch(home, "clock", "TEST_CLOCK_AHEAD")


def disk(home: Path, folder: Path) -> Switch:
    """What lies below a folder: read-only for a shape's processes while 1, files that they have open included."""
    found = Switch(home, "disk", "TEST_DISK_SWITCH")
    found.environ["TEST_DISK"] = f"{folder}/"
    return found


def environ(*switches: Switch) -> dict[str, str]:
    """Variables of a process that is to have these."""
    found = {"LD_PRELOAD": ":".join(str(each.library) for each in switches)}
    for each in switches:
        found |= each.environ
    return found
