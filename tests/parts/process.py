"""One process of a shape: started, asked to stop, killed, stopped in its tracks and continued."""

from __future__ import annotations

import os
import signal
import socket
import subprocess
import time
from collections.abc import Callable, Mapping, Sequence
from pathlib import Path

LONGEST_START = 60.0
LONGEST_STOP = 20.0


def bound(command: Sequence[str]) -> list[str]:
    """The same command, which the kernel ends when the thread that starts it ends, however that ended (prctl(2),
    PR_SET_PDEATHSIG): nothing of ours stays behind where whoever would stop it was killed.
    """
    return ["setpriv", "--pdeathsig", "KILL", "--", *command]


class Part:
    """A process with a log of its own; may be started again after it ended."""

    def __init__(
        self,
        name: str,
        command: Sequence[str],
        log: Path,
        environ: Mapping[str, str] | None = None,
        user: str | None = None,
    ) -> None:
        self.name = name
        self.command = list(command)
        self.log = log
        self._environ = dict(environ or {})
        self._user = user
        self._process: subprocess.Popen[bytes] | None = None

    @property
    def pid(self) -> int:
        assert self._process is not None, f"{self.name} was not started"
        return self._process.pid

    @property
    def running(self) -> bool:
        return self._process is not None and self._process.poll() is None

    def start(self) -> None:
        """Start it; its output goes to the end of its log."""
        with self.log.open("ab") as out:
            self._process = subprocess.Popen(
                bound(self.command),
                stdout=out,
                stderr=subprocess.STDOUT,
                env=os.environ | self._environ,
                user=self._user,
                start_new_session=True,  # Ctrl-C reaches the shape, which then stops its parts in order
            )

    def wait_until(self, up: Callable[[], bool], seconds: float = LONGEST_START) -> None:
        """Wait until it answers. Raises SystemExit with the end of its log where it does not."""
        end = time.monotonic() + seconds
        while time.monotonic() < end and self.running:
            if up():
                return
            time.sleep(0.03)
        self.kill()
        raise SystemExit(f"{self.name} did not come up; its log {self.log} ends with:\n{self._tail()}")

    def must_run(self) -> None:
        """Raises SystemExit with the end of its log where it has ended."""
        if not self.running:
            raise SystemExit(f"{self.name} has ended; its log {self.log} ends with:\n{self._tail()}")

    def _tail(self) -> str:
        return "\n".join(self.log.read_text(errors="replace").splitlines()[-15:])

    def wait(self, seconds: float = LONGEST_STOP) -> None:
        """Wait until it ends by itself. Raises subprocess.TimeoutExpired where it does not."""
        if self._process is not None:
            self._process.wait(seconds)

    def stop(self, how: signal.Signals = signal.SIGTERM) -> None:
        """Ask it to end and wait; kill it where it does not."""
        if self._process is None:
            return
        if self.running:
            self._process.send_signal(how)
        try:
            self._process.wait(LONGEST_STOP)
        except subprocess.TimeoutExpired:
            self.kill()

    def kill(self) -> None:
        """End it at once, as a power cut or the kernel would."""
        if self._process is not None:
            self._process.kill()
            self._process.wait()

    def signal(self, which: signal.Signals) -> None:
        """Send it a signal: SIGSTOP, SIGCONT."""
        assert self._process is not None
        self._process.send_signal(which)


def free_port() -> int:
    """A port of 127.0.0.1 that nobody listens on."""
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        return int(probe.getsockname()[1])


def listens(port: int) -> bool:
    """Whether somebody does."""
    with socket.socket() as probe:
        probe.settimeout(1)
        return probe.connect_ex(("127.0.0.1", port)) == 0


def processor_seconds(pid: int) -> float:
    """Of a process and every process it started, those that ended and were waited for among them; 0 once it is gone."""
    try:
        fields = Path(f"/proc/{pid}/stat").read_text().rpartition(")")[2].split()
        children = [task.read_text().split() for task in Path(f"/proc/{pid}/task").glob("*/children")]
    except OSError:
        return 0.0
    own = sum(int(field) for field in fields[11:15]) / os.sysconf("SC_CLK_TCK")
    return own + sum(processor_seconds(int(child)) for each in children for child in each)
