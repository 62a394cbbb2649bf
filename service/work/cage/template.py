"""The template: a process with everything loaded that forks caged ones, so that each is there in milliseconds.

It takes orders from the service alone, over one channel, and never sees a stranger's byte. Its environment is empty.
"""

from __future__ import annotations

import gc
import importlib
import json
import os
import signal
import socket
import subprocess
import sys
import threading
import traceback
from collections.abc import Sequence
from contextlib import suppress
from dataclasses import dataclass
from pathlib import Path
from types import ModuleType

_LONGEST = 4096
_ONE_THREAD = ("OPENBLAS_NUM_THREADS", "OMP_NUM_THREADS", "MKL_NUM_THREADS")
_NO_HOME = "/nonexistent"
"""Of users without one, by Debian's policy (9.2.3)."""
_START = (
    "import sys, json; given = json.loads(sys.argv[1]); sys.path[:] = given['path'];"
    "from service.work.cage.template import main; main(**given['for'])"
)


class TemplateGoneError(Exception):
    """The template has ended, or could not load what it needs."""


@dataclass(frozen=True)
class CagedProcess:
    """One caged process, seen from the service.

    Attributes:
        pid: its id; its parent is the template.
        channel: questions and answers.
    """

    pid: int
    channel: socket.socket


class Template:
    """The service's side: starts the template, has it fork, learns how a caged process ended.

    Args:
        modules: imported by the template; what has a function ``load`` is told to.
        memory: address space of each caged process, bytes.
    """

    def __init__(self, modules: Sequence[str], memory: int) -> None:
        own, theirs = socket.socketpair(socket.AF_UNIX, socket.SOCK_SEQPACKET)
        given = {
            "path": [str(Path(each).absolute()) for each in sys.path],
            "for": {"control": theirs.fileno(), "memory": memory, "modules": list(modules)},
        }
        with theirs:
            self._process = subprocess.Popen(  # noqa: S603 - this interpreter, arguments of our own
                [sys.executable, "-I", "-c", _START, json.dumps(given)],
                env={},
                stdin=subprocess.DEVNULL,
                stdout=subprocess.DEVNULL,
                stderr=subprocess.DEVNULL,
                pass_fds=(theirs.fileno(),),
                start_new_session=True,  # Ctrl-C in a terminal is the service's to answer
            )
        self._control = own
        self._turn = threading.Lock()
        self._ready = False

    @property
    def pid(self) -> int:
        """Of the template itself."""
        return self._process.pid

    def fork(self) -> CagedProcess:
        """A new caged process. TemplateGoneError."""
        own, theirs = socket.socketpair()
        try:
            with self._turn, theirs:
                self._wait_until_ready()
                socket.send_fds(self._control, [b"fork"], [theirs.fileno()])
                return CagedProcess(int(self._said()), own)
        except (OSError, TemplateGoneError) as error:
            own.close()
            raise TemplateGoneError(str(error)) from error

    def end(self, process: CagedProcess) -> int:
        """Kill one, unless it has ended; its status as ``waitpid`` gives it, 0 where nobody knows any more."""
        process.channel.close()
        with self._turn, suppress(OSError, TemplateGoneError):
            self._control.send(b"end %d" % process.pid)
            return int(self._said())
        return 0

    def status(self, process: CagedProcess) -> int:
        """How one ended that closed its channel."""
        with self._turn, suppress(OSError, TemplateGoneError):
            self._control.send(b"wait %d" % process.pid)
            return int(self._said())
        return signal.SIGKILL

    def stop(self) -> None:
        """End the template and every process it forked."""
        self._control.close()
        self._process.kill()
        self._process.wait()

    def _wait_until_ready(self) -> None:
        if not self._ready:
            said = self._said()
            if said != b"ready":
                raise TemplateGoneError(said.decode("utf-8", "replace"))
            self._ready = True

    def _said(self) -> bytes:
        said = self._control.recv(1 << 16)
        if not said:
            raise TemplateGoneError("the template has ended")
        return said


def main(control: int, memory: int, modules: Sequence[str]) -> None:
    """The template's own life, from its start to the end of its channel."""
    # one thread each: the processes already share the cores, and every BLAS thread reserves address space
    os.environ.update(dict.fromkeys(_ONE_THREAD, "1"))
    # libraries ask for one as they are loaded, and a caged process may not look its user up
    os.environ["HOME"] = _NO_HOME
    channel = socket.socket(fileno=control)
    try:
        for name in modules:
            loaded = importlib.import_module(name)
            getattr(loaded, "load", lambda: None)()
        from service.work.cage import caged
    except BaseException:  # told to the service, whose log says it
        channel.send(traceback.format_exc()[-_LONGEST:].encode())
        raise
    gc.collect()
    gc.freeze()  # what is loaded stays shared with every process that is forked
    channel.send(b"ready")
    own = os.getpid()
    while True:
        message, descriptors, _, _ = socket.recv_fds(channel, 64, 1)
        if not message:
            return
        order, _, about = message.partition(b" ")
        if order == b"fork":
            pid = os.fork()
            if pid == 0:
                _live(caged, channel, descriptors[0], own, memory)
            os.close(descriptors[0])
            channel.send(b"%d" % pid)
        else:
            channel.send(b"%d" % _ended(int(about), kill=order == b"end"))


def _live(caged: ModuleType, control: socket.socket, descriptor: int, parent: int, memory: int) -> None:
    status = 1
    try:
        control.close()
        caged.live(socket.socket(fileno=descriptor), parent, memory)
        status = 0
    finally:
        os._exit(status)


def _ended(pid: int, *, kill: bool) -> int:
    """Wait for a forked process, killed first where that is asked; its status."""
    if kill:
        with suppress(ProcessLookupError):
            os.kill(pid, signal.SIGKILL)
    try:
        return os.waitpid(pid, 0)[1]
    except ChildProcessError:
        return 0
