"""The service as a process of its own, as ``scripts/serve`` starts it."""

from __future__ import annotations

import subprocess
import sys
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import httpx2

LONGEST_START = 300.0
"""A machine that is busy with other things takes its time; a service that ended is not waited for."""
LONGEST_STOP = 20.0


@contextmanager
def running(port: int, data: Path, log: Path) -> Iterator[str]:
    """Starts the service with the seed shop; its address. Stops it on leaving.

    Raises SystemExit with the end of its log where it does not come up.
    """
    command = [
        sys.executable,
        "-m",
        "service.cli",
        "serve",
        "--port",
        str(port),
        "--data",
        str(data),
        "--seed",
    ]
    with log.open("wb") as out:
        process = subprocess.Popen(command, stdout=out, stderr=subprocess.STDOUT)
    address = f"http://127.0.0.1:{port}"
    try:
        _wait_until_up(address, process, log)
        yield address
    finally:
        process.terminate()
        try:
            process.wait(LONGEST_STOP)
        except subprocess.TimeoutExpired:
            process.kill()


def _wait_until_up(address: str, process: subprocess.Popen[bytes], log: Path) -> None:
    deadline = time.monotonic() + LONGEST_START
    while time.monotonic() < deadline and process.poll() is None:
        try:
            if httpx2.get(f"{address}/api/v1/workshops").is_success:
                return
        except httpx2.TransportError:
            time.sleep(0.05)
    tail = "\n".join(log.read_text(errors="replace").splitlines()[-15:])
    raise SystemExit(f"The service did not start; its log {log} ends with:\n{tail}")
