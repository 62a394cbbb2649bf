"""How the C library hands out memory."""

from __future__ import annotations

import ctypes

_M_ARENA_MAX = -8  # <malloc.h> of the GNU C library
_ARENAS = 2


def keep_few_arenas() -> None:
    """Let threads share their pools of memory: with one for each, what one frees is of no use to the others.

    Nothing happens where the C library has no such setting.
    """
    mallopt = getattr(ctypes.CDLL(None), "mallopt", None)
    if mallopt is not None:
        mallopt(_M_ARENA_MAX, _ARENAS)
