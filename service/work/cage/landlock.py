"""Landlock through its three system calls: which files a process may open, for good.

Linux, Documentation/userspace-api/landlock.rst. The numbers of the calls are the same on every architecture.
"""

from __future__ import annotations

import ctypes
import os
from collections.abc import Iterable
from pathlib import Path

_CREATE_RULESET, _ADD_RULE, _RESTRICT_SELF = 444, 445, 446
_WANT_VERSION = 1
_PATH_BENEATH = 1
_EXECUTE, _WRITE_FILE, _READ_FILE, _READ_DIR = 1 << 0, 1 << 1, 1 << 2, 1 << 3
_REMOVE_FILE, _MAKE_FILE, _TRUNCATE = 1 << 5, 1 << 8, 1 << 14
_READING = _READ_FILE | _READ_DIR
_SCRATCH = _READING | _WRITE_FILE | _REMOVE_FILE | _MAKE_FILE | _TRUNCATE
_OF_FILES = _EXECUTE | _WRITE_FILE | _READ_FILE | _TRUNCATE
"""Rights that a rule for a file, not a folder, may grant."""
_RIGHTS_OF_VERSION = {1: 13, 2: 14, 3: 15, 4: 15, 5: 16}
"""Version of the interface → how many rights over files it knows, from bit 0; each is refused unless granted."""
_NETWORK = 0b11  # binding and connecting TCP, from version 4
_SCOPES = 0b11  # abstract sockets and signals out of the domain, from version 6
_LIBC = ctypes.CDLL(None, use_errno=True)


class _Ruleset(ctypes.Structure):
    _fields_ = (
        ("files", ctypes.c_uint64),
        ("network", ctypes.c_uint64),
        ("scoped", ctypes.c_uint64),
    )


class _PathBeneath(ctypes.Structure):
    _pack_ = 1
    _fields_ = (("allowed", ctypes.c_uint64), ("folder", ctypes.c_int32))


def version() -> int:
    """Of the kernel's Landlock; 0 where there is none."""
    return max(int(_LIBC.syscall(_CREATE_RULESET, None, 0, _WANT_VERSION)), 0)


def restrict(reading: Iterable[Path], scratch: Iterable[Path] = (), programs: Iterable[Path] = ()) -> bool:
    """From now on this thread and its children open nothing but what is below some places.

    ``no_new_privs`` must be set. False where the kernel cannot.

    Args:
        reading: what may be read.
        scratch: folders in which files may be made, written and removed too.
        programs: files that may be read and run.
    """
    known = version()
    if known == 0:
        return False
    handled = (1 << _RIGHTS_OF_VERSION.get(known, 16)) - 1
    rules = _Ruleset(handled, _NETWORK, _SCOPES)
    size = 8 if known < 4 else 16 if known < 6 else 24
    ruleset = int(_LIBC.syscall(_CREATE_RULESET, ctypes.byref(rules), size, 0))
    if ruleset < 0:
        return False
    granted = ((reading, _READING), (scratch, _SCRATCH), (programs, _READ_FILE | _EXECUTE))
    try:
        for places, rights in granted:
            for place in places:
                _allow(ruleset, place, rights & handled)
        return int(_LIBC.syscall(_RESTRICT_SELF, ruleset, 0)) == 0
    finally:
        os.close(ruleset)


def _allow(ruleset: int, place: Path, rights: int) -> None:
    try:
        opened = os.open(place, os.O_PATH | os.O_CLOEXEC)
    except OSError:
        return  # not on this machine
    try:
        rule = _PathBeneath(rights if place.is_dir() else rights & _OF_FILES, opened)
        _LIBC.syscall(_ADD_RULE, ruleset, _PATH_BENEATH, ctypes.byref(rule), 0)
    finally:
        os.close(opened)
