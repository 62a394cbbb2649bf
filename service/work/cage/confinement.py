"""Shutting a process in: what it may still do is to compute, to read program code, and to answer."""

from __future__ import annotations

import ctypes
import os
import resource
import signal
import stat
import sys
import sysconfig
from dataclasses import dataclass
from pathlib import Path

from service.work.cage import landlock, seccomp

OWN_USER = 64_123
"""User and group of caged processes where the service runs as root: nobody's, in no list of users."""
_NO_NEW_PRIVS, _PDEATHSIG, _DUMPABLE = 38, 1, 4
_DROP_BOUNDING, _LAST_CAPABILITY = 24, 40
_DESCRIPTORS = 64
_LIBC = ctypes.CDLL(None, use_errno=True)
_ROOT = Path(__file__).parents[3]
_SYSTEM = (
    *(Path(each) for each in ("/usr/lib", "/lib", "/lib64", "/usr/local/lib", "/etc/ld.so.cache")),
    *(Path(each) for each in ("/usr/share/fonts", "/usr/local/share/fonts", "/etc/fonts", "/dev/null")),
    *(Path(each) for each in ("/dev/urandom", "/usr/share/zoneinfo")),
)
_CODE = (
    *(_ROOT / room for room in ("artwork", "service", "seeds", "schema")),
    *(Path(sysconfig.get_path(name)) for name in ("stdlib", "platstdlib", "purelib", "platlib")),
    *_SYSTEM,
)
"""What can still be read: programs, libraries and typefaces, which are no secret."""


@dataclass(frozen=True)
class Confined:
    """How far a process is shut in.

    Attributes:
        files: whether it opens program code alone (Landlock).
        calls: whether it has the calls of computing alone (seccomp).
        user: whether it is another user than the service, or the service is not root.
    """

    files: bool
    calls: bool
    user: bool

    @property
    def lacks(self) -> tuple[str, ...]:
        """What this machine does not give, in words; none where everything holds."""
        words = {
            "this kernel has no Landlock: reading is kept from files by their owner alone": self.files,
            "no seccomp filter for this processor or kernel: sockets and programs are not kept from it": self.calls,
            "program code is readable for root alone: it keeps the service's user, without root's powers": self.user,
        }
        return tuple(each for each, holds in words.items() if not holds)


@dataclass(frozen=True)
class Reach:
    """What a program that reads a stranger's file may touch.

    Attributes:
        scratch: folder of its own, in which it writes.
        programs: files that it may run.
        reading: what it may read besides the system's libraries and typefaces.
        largest_file: longest file that it may write, bytes.
    """

    scratch: Path
    programs: tuple[Path, ...]
    reading: tuple[Path, ...]
    largest_file: int


def confine(parent: int, memory: int, extra: tuple[Path, ...] = ()) -> Confined:
    """Shut this process in, for good; it has one thread and has loaded what it needs.

    Args:
        parent: its parent's id: it ends when that does.
        memory: address space, bytes.
        extra: more that may be read.
    """
    user = _alone(parent, memory, loads_more=True)
    files = landlock.restrict((*_CODE, *extra))
    return Confined(files, seccomp.allow_computing_alone(), user)


def confine_for_program(parent: int, memory: int, reach: Reach) -> Confined:
    """Shut this process in before it becomes another program, which reads one file of a stranger's.

    Args:
        parent: its parent's id: it ends when that does.
        memory: address space, bytes.
        reach: what it may read, run and write.
    """
    if os.geteuid() == 0:
        os.chown(reach.scratch, OWN_USER, OWN_USER)
    user = _alone(parent, memory, reach.largest_file, loads_more=False)
    files = landlock.restrict((*_SYSTEM, *reach.reading), (reach.scratch,), reach.programs)
    return Confined(files, seccomp.allow_computing_alone(then_a_program=True), user)


def _alone(parent: int, memory: int, largest_file: int = 0, *, loads_more: bool) -> bool:
    """Limits, another user, no way to more rights; whether it is another user."""
    for which, limit in (
        (resource.RLIMIT_AS, memory),
        (resource.RLIMIT_CORE, 0),
        (resource.RLIMIT_FSIZE, largest_file),
        (resource.RLIMIT_NOFILE, _DESCRIPTORS),
    ):
        resource.setrlimit(which, (limit, limit))
    user = _another_user(loads_more)
    _LIBC.prctl(_PDEATHSIG, signal.SIGKILL, 0, 0, 0)  # after the change of user, which would undo it
    if os.getppid() != parent:  # it ended before the line above took hold
        os._exit(1)
    _LIBC.prctl(_DUMPABLE, 0, 0, 0, 0)
    _LIBC.prctl(_NO_NEW_PRIVS, 1, 0, 0, 0)
    return user


def _another_user(loads_more: bool) -> bool:
    """Become a user of one's own, where root; else, or where this program's code is read later, lose root's powers."""
    if os.geteuid() != 0:
        return True
    for capability in range(_LAST_CAPABILITY + 1):
        _LIBC.prctl(_DROP_BOUNDING, capability, 0, 0, 0)
    os.setgroups([])
    if loads_more and not _code_is_public():
        _lose_capabilities()
        return False
    os.setresgid(OWN_USER, OWN_USER, OWN_USER)
    os.setresuid(OWN_USER, OWN_USER, OWN_USER)
    return True


def _code_is_public() -> bool:
    """Whether any user reads this program's code: what is loaded late would be missing otherwise."""
    places = {Path(sys.prefix).resolve(), Path(__file__).resolve().parent, *(each for each in _CODE[4:8])}
    return all(
        folder.stat().st_mode & stat.S_IXOTH
        for place in places
        for folder in (place, *place.parents)
        if folder.is_dir()
    )


def _lose_capabilities() -> None:
    """capset(2), version 3: none effective, permitted or inheritable."""
    header = (ctypes.c_uint32 * 2)(0x20080522, 0)
    data = (ctypes.c_uint32 * 6)()
    _LIBC.capset(ctypes.byref(header), ctypes.byref(data))
