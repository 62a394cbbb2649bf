"""What hostile code would do inside a process that reads strangers' files. Each returns what it got."""

from __future__ import annotations

import ctypes
import os
import pickle
import resource
import signal
import socket
import subprocess
import time
from collections.abc import Callable
from pathlib import Path

import msgpack

LIBC = ctypes.CDLL(None, use_errno=True)
_PTRACE_ATTACH = 16


def read_file(path: str) -> str:
    return Path(path).read_text(errors="replace")


def home() -> str:
    return str(Path.home())


def list_folder(path: str) -> list[str]:
    return [each.name for each in Path(path).iterdir()]


def write_file(path: str) -> int:
    return Path(path).write_text("was here")


def append_to_file(path: str) -> int:
    with Path(path).open("a") as file:
        return file.write("was here")


def remove_file(path: str) -> str:
    Path(path).unlink()
    return "removed"


def make_folder(path: str) -> str:
    Path(path).mkdir()
    return "made"


def connect(port: int) -> str:
    with socket.create_connection(("127.0.0.1", port), timeout=2):
        return "connected"


def datagram(port: int) -> int:
    with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as made:
        return made.sendto(b"x", ("127.0.0.1", port))


def abstract_socket() -> str:
    with socket.socket(socket.AF_UNIX) as made:
        made.connect("\0somebody")
    return "connected"


def run_program() -> str:
    return subprocess.run(["/bin/echo", "ran"], capture_output=True, text=True, check=True).stdout


def become_program() -> str:
    os.execv("/bin/echo", ["echo", "ran"])
    return "ran"


def fork() -> int:
    return os.fork()


def attach_to(pid: int) -> int:
    return _called(LIBC.ptrace(_PTRACE_ATTACH, pid, None, None))


def read_memory_of(pid: int) -> int:
    vector = (ctypes.c_void_p * 2)(ctypes.addressof(ctypes.create_string_buffer(8)), 8)
    return _called(LIBC.process_vm_readv(pid, vector, 1, vector, 1, 0))


def signal_to(pid: int) -> str:
    os.kill(pid, signal.SIGTERM)
    return "sent"


def raise_limits() -> str:
    resource.setrlimit(resource.RLIMIT_CPU, (resource.RLIM_INFINITY, resource.RLIM_INFINITY))
    return "raised"


def become_root() -> str:
    os.setresuid(0, 0, 0)
    os.chroot("/")
    return "root"


def undumpable() -> int:
    return int(LIBC.prctl(4, 1, 0, 0, 0))


def _called(result: int) -> int:
    if result < 0:
        raise OSError(ctypes.get_errno(), "refused")
    return result


def environment() -> dict[str, str]:
    return dict(os.environ)


def first_environment() -> str:
    return Path("/proc/self/environ").read_text()


def open_descriptors() -> list[str]:
    """What each open descriptor is: only the channel and three that lead nowhere."""
    found = []
    for number in range(256):
        try:
            found.append(f"{number}:{oct(os.fstat(number).st_mode)[:-4]}")
        except OSError:
            continue
    return found


def add(a: int, b: int) -> int:
    return a + b


def nap(seconds: float) -> int:
    time.sleep(seconds)
    return os.getpid()


class Bomb:
    """An object that runs code where it is unpickled."""

    def __init__(self, path: str) -> None:
        self.path = path

    def __reduce__(self) -> tuple[Callable[[str], None], tuple[str]]:
        return (os.mkdir, (self.path,))


def _on_the_channel(data: bytes) -> None:
    """Write to every descriptor there is: one of them is where answers go."""
    for number in range(3, 64):
        try:
            os.write(number, data)
        except OSError:
            continue


def _framed(body: bytes) -> bytes:
    return len(body).to_bytes(8, "little") + body


def answer_with_a_pickle(path: str) -> int:
    body = pickle.dumps(Bomb(path))
    _on_the_channel(_framed(b"0" * 16 + body) + _framed(body))
    return 0


def answer_before_being_asked() -> int:
    _on_the_channel(_framed(b"0" * 16 + msgpack.packb({"value": 666})) * 5)
    return 1


def answer_without_end() -> int:
    _on_the_channel((1 << 62).to_bytes(8, "little"))
    time.sleep(30)
    return 1


def answer_another_type() -> int:
    return {"a": ["list"]}  # type: ignore[return-value]


def answer_no_figure() -> list[float]:
    return [float("nan")]
