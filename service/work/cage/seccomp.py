"""A seccomp filter: the few system calls that computing takes; every other one fails as not permitted.

Linux, Documentation/userspace-api/seccomp_filter.rst; numbers of x86-64 and of the generic table (aarch64) from
``asm/unistd_64.h`` and ``asm-generic/unistd.h``.
"""

from __future__ import annotations

import ctypes
import errno
import os
import platform

_LIBC = ctypes.CDLL(None, use_errno=True)
_SET_SECCOMP, _MODE_FILTER = 22, 2
_ALLOW, _ERRNO, _KILL_PROCESS = 0x7FFF0000, 0x00050000, 0x80000000
_LOAD, _EQUAL, _AT_LEAST, _ANY_BIT, _RETURN = 0x20, 0x15, 0x35, 0x45, 0x06
_NUMBER, _ARCHITECTURE = 0, 4  # offsets into struct seccomp_data
_X32 = 0x40000000
_MACHINES = {"x86_64": (0, 0xC000003E), "aarch64": (1, 0xC00000B7)}
"""Machine → column of the tables below, and its AUDIT_ARCH number."""

_FREE: dict[str, tuple[int | None, int | None]] = {
    "read": (0, 63), "write": (1, 64), "close": (3, 57), "fstat": (5, 80), "newfstatat": (262, 79),
    "statx": (332, 291), "lseek": (8, 62), "mmap": (9, 222), "mprotect": (10, 226), "munmap": (11, 215),
    "brk": (12, 214), "mremap": (25, 216), "madvise": (28, 233), "rt_sigaction": (13, 134),
    "rt_sigprocmask": (14, 135), "rt_sigreturn": (15, 139), "sigaltstack": (131, 132), "pread64": (17, 67),
    "readv": (19, 65), "writev": (20, 66), "access": (21, None), "faccessat": (269, 48),
    "faccessat2": (439, 439), "sched_yield": (24, 124), "mincore": (27, 232), "dup": (32, 23),
    "nanosleep": (35, 101), "clock_nanosleep": (230, 115), "getpid": (39, 172), "gettid": (186, 178),
    "getppid": (110, 173), "getuid": (102, 174), "geteuid": (107, 175), "getgid": (104, 176),
    "getegid": (108, 177), "exit": (60, 93), "exit_group": (231, 94), "uname": (63, 160),
    "getdents64": (217, 61), "getcwd": (79, 17), "readlink": (89, None), "readlinkat": (267, 78),
    "stat": (4, None), "lstat": (6, None), "gettimeofday": (96, 169), "getrusage": (98, 165),
    "sysinfo": (99, 179), "times": (100, 153), "arch_prctl": (158, None), "futex": (202, 98),
    "sched_getaffinity": (204, 123), "set_tid_address": (218, 96), "restart_syscall": (219, 128),
    "clock_gettime": (228, 113), "clock_getres": (229, 114), "set_robust_list": (273, 99),
    "getrandom": (318, 278), "membarrier": (324, 283), "rseq": (334, 293), "poll": (7, None),
    "ppoll": (271, 73), "select": (23, None), "pselect6": (270, 72), "getrlimit": (97, 163),
    "get_mempolicy": (239, 236), "sendto": (44, 206), "recvfrom": (45, 207),  # on the channel: no socket can be made
}  # fmt: skip
_FOR_A_PROGRAM: dict[str, tuple[int | None, int | None]] = {
    "execve": (59, 221), "unlink": (87, None), "unlinkat": (263, 35), "ftruncate": (77, 46), "fcntl": (72, 25),
    "open": (2, None), "openat": (257, 56), "umask": (95, 166), "pwrite64": (18, 68),
    "dup2": (33, None), "dup3": (292, 24), "close_range": (436, 436),
}  # fmt: skip
"""What a program that was started for one file takes besides: to begin, and to write where Landlock lets it."""
_OPEN, _OPENAT = (2, None), (257, 56)
_CLONE, _CLONE3 = (56, 220), (435, 435)
_PRCTL, _PRLIMIT, _TGKILL, _FCNTL = (157, 167), (302, 261), (234, 131), (72, 25)
_TO_WRITE = os.O_WRONLY | os.O_RDWR | os.O_CREAT | os.O_TRUNC | os.O_APPEND
_THREAD = 0x00010000  # CLONE_THREAD
_NAMES_THINGS = (15, 0x53564D41)  # PR_SET_NAME, PR_SET_VMA
_OWN_DESCRIPTORS = (1, 2, 3, 1030)  # F_GETFD, F_SETFD, F_GETFL, F_DUPFD_CLOEXEC


class _Instruction(ctypes.Structure):
    _fields_ = (
        ("code", ctypes.c_uint16),
        ("when_true", ctypes.c_uint8),
        ("when_false", ctypes.c_uint8),
        ("value", ctypes.c_uint32),
    )


class _Program(ctypes.Structure):
    _fields_ = (("length", ctypes.c_uint16), ("first", ctypes.POINTER(_Instruction)))


def allow_computing_alone(*, then_a_program: bool = False) -> bool:
    """From now on this thread and its children compute; ``no_new_privs`` must be set. False where it cannot be.

    ``then_a_program``: another program is run in this process, which writes files: where, Landlock says.
    """
    machine = _MACHINES.get(platform.machine())
    if machine is None:
        return False
    column, architecture = machine
    instructions = _filter(column, architecture, _FOR_A_PROGRAM if then_a_program else {})
    program = _Program(len(instructions), (_Instruction * len(instructions))(*instructions))
    return int(_LIBC.prctl(_SET_SECCOMP, _MODE_FILTER, ctypes.byref(program), 0, 0)) == 0


def _filter(
    column: int, architecture: int, besides: dict[str, tuple[int | None, int | None]]
) -> list[_Instruction]:
    refused = _ERRNO | errno.EPERM
    program = [
        _Instruction(_LOAD, 0, 0, _ARCHITECTURE),
        _Instruction(_EQUAL, 1, 0, architecture),
        _Instruction(_RETURN, 0, 0, _KILL_PROCESS),
        _Instruction(_LOAD, 0, 0, _NUMBER),
        _Instruction(_AT_LEAST, 0, 1, _X32),
        _Instruction(_RETURN, 0, 0, refused),
    ]
    for numbers in (*_FREE.values(), *besides.values()):
        program += _for_call(numbers[column], [_Instruction(_RETURN, 0, 0, _ALLOW)])
    read_only = [_Instruction(_ANY_BIT, 0, 1, _TO_WRITE), _refuse(), _allow()]
    for numbers, flags in ((_OPEN, 1), (_OPENAT, 2)):
        program += _for_call(numbers[column], [_argument(flags), *read_only])
    thread = [_argument(0), _Instruction(_ANY_BIT, 1, 0, _THREAD), _refuse(), _allow()]
    program += _for_call(_CLONE[column], thread)
    program += _for_call(_CLONE3[column], [_Instruction(_RETURN, 0, 0, _ERRNO | errno.ENOSYS)])
    program += _for_call(_PRCTL[column], [_argument(0), *_one_of(_NAMES_THINGS)])
    program += _for_call(_FCNTL[column], [_argument(1), *_one_of(_OWN_DESCRIPTORS)])
    program += _for_call(_TGKILL[column], [_argument(0), *_one_of((os.getpid(),))])
    # limits may be asked for, not set: both halves of the pointer to new ones are zero
    asked = [
        _argument(2), _Instruction(_EQUAL, 1, 0, 0), _refuse(),
        _Instruction(_LOAD, 0, 0, 16 + 8 * 2 + 4), _Instruction(_EQUAL, 1, 0, 0), _refuse(), _allow(),
    ]  # fmt: skip
    program += _for_call(_PRLIMIT[column], asked)
    return [*program, _Instruction(_RETURN, 0, 0, refused)]


def _for_call(number: int | None, then: list[_Instruction]) -> list[_Instruction]:
    """What is done for the call of that number, every way through it returning; nothing where there is none."""
    return [] if number is None else [_Instruction(_EQUAL, 0, len(then), number), *then]


def _one_of(values: tuple[int, ...]) -> list[_Instruction]:
    tests = [_Instruction(_EQUAL, len(values) - at, 0, value) for at, value in enumerate(values)]
    return [*tests, _refuse(), _allow()]


def _argument(index: int) -> _Instruction:
    """Load the lower half of an argument; both machines are little-endian."""
    return _Instruction(_LOAD, 0, 0, 16 + 8 * index)


def _allow() -> _Instruction:
    return _Instruction(_RETURN, 0, 0, _ALLOW)


def _refuse() -> _Instruction:
    return _Instruction(_RETURN, 0, 0, _ERRNO | errno.EPERM)
