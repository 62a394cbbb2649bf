"""The launcher: shuts itself in, then becomes the program that turns one stranger's file into a drawing.

Only Python's own modules and this room are loaded. Its environment is empty; the program's names its folder alone.
"""

from __future__ import annotations

import os
import resource
from pathlib import Path

from service.work.cage.confinement import Reach, confine_for_program

UNCAGED = 97
"""Status of a launcher that could not shut itself in whole: the program was not run."""
SAID = "said"
"""File in the scratch folder that takes what the program says."""
_LOADERS = ("/lib64/ld-linux-x86-64.so.2", "/lib/ld-linux-aarch64.so.1")
"""What the kernel starts every program by."""


def main(
    *,
    parent: int,
    memory: int,
    cpu_seconds: int,
    scratch: str,
    largest_file: int,
    reading: list[str],
    command: list[str],
) -> None:
    """Become ``command``, which may read ``reading``, write below ``scratch`` and use so much memory and time."""
    resource.setrlimit(resource.RLIMIT_CPU, (cpu_seconds, cpu_seconds))
    loaders = [Path(each).resolve() for each in _LOADERS if Path(each).exists()]
    reach = Reach(
        Path(scratch),
        (Path(command[0]).resolve(), *loaders),
        tuple(Path(each) for each in reading),
        largest_file,
    )
    os.chdir(scratch)
    confined = confine_for_program(parent, memory, reach)
    if confined.lacks:
        os._exit(UNCAGED)
    said = os.open(SAID, os.O_WRONLY | os.O_CREAT | os.O_TRUNC, 0o644)
    os.dup2(said, 1)
    os.dup2(said, 2)
    os.closerange(3, 4096)
    os.execve(command[0], command, {"TMPDIR": scratch})  # noqa: S606 - a fixed program, by its whole path
