"""Hostile PostScript: what it tries is refused by its interpreter or by the kernel, and it ends at its limits.

Each file draws a bar per attempt that succeeded, so that what came of it is read in the drawing it makes.
"""

from __future__ import annotations

import socket
import tempfile
from collections.abc import Iterator
from pathlib import Path

import pypdfium2
import pytest

from artwork.errors import EngineError
from artwork.intake.foreign import Converted, Foreign
from service.work import programs
from service.work.programs import Program, ProgramLimits, convert

USUAL = ProgramLimits()
DRAW = "/drawn { 10 10 moveto 100 0 rlineto 0 100 rlineto fill } def\n"


def objects(made: Converted) -> int:
    if not made.data:
        return 0
    document = pypdfium2.PdfDocument(made.data)
    return sum(len(list(page.get_objects())) for page in document)


def run(words: str, limits: ProgramLimits = USUAL) -> Converted:
    return convert(Foreign("eps", f"%!PS\n{DRAW}{words}\nshowpage\n".encode()), limits)


def test_the_measure_sees_what_succeeds():
    assert objects(run("{ 1 1 add pop drawn } stopped pop")) == 1


@pytest.mark.parametrize(
    "attempt",
    [
        "(/etc/passwd) (r) file",
        "(/proc/self/environ) (r) file",
        "(/usr/share/common-licenses/GPL-3) (r) file",
        "(in.ps.made) (w) file",
        "(%pipe%id) (r) file",
        "(%pipe%id > got) (w) file",
        "(/etc/passwd) run",
        "(/tmp/x) deletefile",
        "(in.ps) (other) renamefile",
        "(*) { pop exit } 100 string filenameforall (PATH) getenv not { stop } if",
    ],
)
def test_postscript_reaches_nothing_outside_its_file(attempt: str):
    assert objects(run(f"{{ {attempt} drawn }} stopped pop")) == 0


@pytest.fixture
def anybodys() -> Iterator[Path]:
    """A folder that every user of this machine may look into and write in."""
    with tempfile.TemporaryDirectory() as made:
        folder = Path(made)
        folder.chmod(0o777)
        yield folder


@pytest.fixture
def unguarded(monkeypatch: pytest.MonkeyPatch) -> None:
    """The interpreter's own guard taken away: what holds now is the kernel's part alone."""
    usual = programs.PROGRAMS["eps"]
    command = tuple("-dNOSAFER" if word == "-dSAFER" else word for word in usual.command)
    monkeypatch.setitem(programs.PROGRAMS, "eps", Program(command, usual.before, usual.after, usual.reading))


@pytest.mark.usefixtures("unguarded")
def test_without_the_interpreters_guard_the_kernels_holds(anybodys: Path):
    secret = anybodys / "keys"
    secret.write_text("open sesame")
    secret.chmod(0o666)
    for attempt in (
        f"({secret}) (r) file",
        f"({secret}) (w) file",
        f"({secret}) deletefile",
        f"({anybodys}/new) (w) file",
        "(/etc/passwd) (r) file",
        "(/proc/self/environ) (r) file",
        "(%pipe%/usr/bin/id) (r) file dup 100 string readline pop length 0 eq { stop } if",
    ):
        assert objects(run(f"{{ {attempt} drawn }} stopped pop")) == 0, attempt
    assert secret.read_text() == "open sesame"
    assert [each.name for each in anybodys.iterdir()] == ["keys"]
    assert objects(run("{ (made) (w) file drawn } stopped pop")) == 1  # in its own folder it may


def test_a_loop_ends_at_its_processor_time():
    with pytest.raises(EngineError) as ended:
        run("{} loop", ProgramLimits(cpu_seconds=1))
    assert ended.value.code == "too-much-work"


def test_one_that_waits_ends_at_its_time():
    with pytest.raises(EngineError) as ended:
        run("{} loop", ProgramLimits(seconds=0.5))
    assert ended.value.code == "too-slow"


def test_memory_and_disk_end():
    assert objects(run("[ { 10000000 string } loop", ProgramLimits(memory=300 << 20))) == 0
    fill = "/s 65000 string def null (w) .tempfile exch pop /f exch def { f s writestring } loop"
    try:
        made = run(fill, ProgramLimits(folder=10_000_000))
    except EngineError as refusal:
        assert refusal.code == "drawing-too-large"
    else:
        assert objects(made) == 0


def test_no_program_reaches_the_network(monkeypatch: pytest.MonkeyPatch):
    words = (
        "import socket,sys\n"
        "try:\n socket.create_connection(('127.0.0.1', int(sys.argv[1])), 2); open('out.pdf','w').write('reached')\n"
        "except PermissionError:\n open('out.pdf','w').write('refused')\n"
    )
    with socket.create_server(("127.0.0.1", 0)) as server:
        command = ("/usr/bin/python3", "-I", "-c", words, str(server.getsockname()[1]))
        monkeypatch.setitem(programs.PROGRAMS, "eps", Program(command, "in.ps", "out.pdf"))
        assert convert(Foreign("eps", b"%!")).data == b"refused"


def test_nothing_is_left_behind(anybodys: Path, monkeypatch: pytest.MonkeyPatch):
    monkeypatch.setattr("tempfile.tempdir", str(anybodys))
    run("drawn")
    with pytest.raises(EngineError):
        run("{} loop", ProgramLimits(seconds=0.3))
    assert list(anybodys.iterdir()) == []


def test_a_program_that_is_missing_makes_nothing(monkeypatch: pytest.MonkeyPatch):
    monkeypatch.setitem(programs.PROGRAMS, "eps", Program(("/usr/bin/not-there",), "in.ps", "out.pdf"))
    assert convert(Foreign("eps", b"%!")) == Converted("")
