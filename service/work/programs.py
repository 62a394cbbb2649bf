"""Other programs that turn a stranger's file into a drawing or a picture: each runs for one file, shut in, and is gone.

Ghostscript runs PostScript, which is a language that can do whatever its interpreter can. So its process opens the
system's libraries, its own resources and one folder that is made for the file, starts nothing, reaches no network, and
ends at limits on memory, on time and on what it writes (``service.work.cage.program``). What comes out is a stranger's
file still, and is read as one.
"""

from __future__ import annotations

import json
import logging
import os
import re
import signal
import subprocess
import sys
import tempfile
import threading
import time
from dataclasses import dataclass
from pathlib import Path

from artwork.errors import EngineError
from artwork.intake.foreign import Converted, Foreign
from service.work.cage.program import SAID, UNCAGED

log = logging.getLogger("slatproof")

_LARGEST_FILE = 60_000_000
_LONGEST_SAID = 1 << 20
_LOOK_SECONDS = 0.05
_FAILED = "Error: /"
"""What Ghostscript says where the file's program meets an error."""
_CURE = "In the program it was drawn in, export it as PDF or SVG and send that."
_AT_ONCE = threading.BoundedSemaphore(2)
_START = (
    "import sys, json; given = json.loads(sys.argv[1]); sys.path[:] = given['path'];"
    "from service.work.cage.program import main; main(**given['for'])"
)
_STAND_IN = re.compile(r"^Loading (\S+) font from", re.MULTILINE)
"""What Ghostscript says where the file names a font that is not in it."""
_MOST_NAMED = 5


@dataclass(frozen=True)
class ProgramLimits:
    """What one run of a program may use.

    Attributes:
        seconds: longest run.
        cpu_seconds: most time on processors.
        memory: address space, bytes.
        folder: most that it may write, bytes.
    """

    seconds: float = 40.0
    cpu_seconds: int = 20
    memory: int = 1024 * 1024 * 1024
    folder: int = 200_000_000


_USUAL = ProgramLimits()


@dataclass(frozen=True)
class Program:
    """One program.

    Attributes:
        command: its file and arguments; it runs in the folder with ``before``.
        before: name of the file that it is given.
        after: name of the file that it makes.
        reading: what it reads besides the system's libraries and typefaces.
    """

    command: tuple[str, ...]
    before: str
    after: str
    reading: tuple[str, ...] = ()


_GHOSTSCRIPT = (
    "/usr/bin/gs", "-dSAFER", "-dBATCH", "-dNOPAUSE", "-dNOPROMPT", "-dEPSCrop", "-dNoOutputFonts",
    "-dAutoRotatePages=/None", "-sDEVICE=pdfwrite", "-sOutputFile=out.pdf", "in.ps",
)  # fmt: skip
_GHOSTSCRIPT_READS = (
    "/usr/share/ghostscript",
    "/usr/share/color",
    "/var/lib/ghostscript",
    "/etc/ghostscript",
)
_JPEG_XL = ("/usr/bin/djxl", "in.jxl", "out.png", "--num_threads=1", "--bits_per_sample=8", "--quiet")
PROGRAMS = {
    "eps": Program(_GHOSTSCRIPT, "in.ps", "out.pdf", _GHOSTSCRIPT_READS),
    "emf": Program(("/usr/bin/emf2svg-conv", "-i", "in.emf", "-o", "out.svg"), "in.emf", "out.svg"),
    "wmf": Program(("/usr/bin/wmf2svg", "-o", "out.svg", "in.wmf"), "in.wmf", "out.svg"),
    "jxl": Program(_JPEG_XL, "in.jxl", "out.png"),
}
"""What is run, by kind of file."""


def convert(part: Foreign, limits: ProgramLimits = _USUAL) -> Converted:
    """The drawing that a program makes of a file; an empty one where it makes nothing.

    EngineError: ``too-slow``, ``too-much-work``, ``drawing-too-large``.
    """
    program = PROGRAMS[part.kind]
    if not Path(program.command[0]).exists():
        log.warning("a program that reads files is not installed", extra={"program": program.command[0]})
        return Converted("")
    with _AT_ONCE, tempfile.TemporaryDirectory(prefix="slatproof-") as folder:
        status = _run(program, part, Path(folder), limits)
        if status == UNCAGED:
            log.warning("no program may read files here: it could not be shut in whole")
            return Converted("")
        said = _text(Path(folder) / SAID)
        drawing = _bytes(Path(folder) / program.after, _LARGEST_FILE)
        if not drawing:
            return Converted("")
        stand_ins = tuple(dict.fromkeys(_STAND_IN.findall(said)))[:_MOST_NAMED]
        return Converted(program.after.rpartition(".")[2], drawing, stand_ins, _FAILED in said)


def _bytes(path: Path, most: int) -> bytes:
    """What a program wrote; nothing where it left no plain file. It is gone by now, and cannot put another there."""
    if path.is_symlink() or not path.is_file():
        return b""
    with path.open("rb") as file:
        return file.read(most)


def _text(path: Path) -> str:
    return _bytes(path, _LONGEST_SAID).decode("utf-8", "replace")


def _run(program: Program, part: Foreign, folder: Path, limits: ProgramLimits) -> int:
    """Run it in the folder; its status. EngineError where it ends at a limit."""
    (folder / program.before).write_bytes(part.data)
    (folder / program.before).chmod(0o644)
    given = {
        "path": [str(Path(each).absolute()) for each in sys.path],
        "for": {
            "parent": os.getpid(),
            "memory": limits.memory,
            "cpu_seconds": limits.cpu_seconds,
            "scratch": str(folder),
            "largest_file": _LARGEST_FILE,
            "reading": program.reading,
            "command": program.command,
        },
    }
    process = subprocess.Popen(  # noqa: S603 - this interpreter, arguments of our own
        [sys.executable, "-I", "-c", _START, json.dumps(given)],
        env={},
        stdin=subprocess.DEVNULL,
        stdout=subprocess.DEVNULL,
        stderr=subprocess.DEVNULL,
        start_new_session=True,
    )
    try:
        _wait(process, folder, limits)
    finally:
        process.kill()
        process.wait()
    if process.returncode in (-signal.SIGXCPU, -signal.SIGKILL):  # the soft limit on time, and the hard one
        raise EngineError(
            "too-much-work", f"This file takes more than {limits.cpu_seconds} s of computing.", _CURE
        )
    return process.returncode


def _wait(process: subprocess.Popen[bytes], folder: Path, limits: ProgramLimits) -> None:
    """Until it ends. EngineError where it takes too long, or writes too much."""
    end = time.monotonic() + limits.seconds
    while True:
        try:
            process.wait(_LOOK_SECONDS)
        except subprocess.TimeoutExpired:
            pass
        else:
            return
        if time.monotonic() > end:
            raise EngineError(
                "too-slow", f"This file takes longer than {limits.seconds:.0f} s to work out.", _CURE
            )
        if _size(folder) > limits.folder:
            raise EngineError(
                "drawing-too-large",
                f"The drawing in this file takes more than {limits.folder / 1e6:.0f} MB.",
                "Send a simpler drawing: fewer points, or a smaller picture.",
            )


def _size(folder: Path) -> int:
    total = 0
    for each in os.scandir(folder):
        try:
            total += each.stat(follow_symlinks=False).st_size
        except OSError:  # it was removed meanwhile
            continue
    return total
