"""What the installation is like: found out here, judged by ``service.orders.installation``."""

from __future__ import annotations

import ctypes
from pathlib import Path

from service import VERSION
from service.access.accounts import accounts_of
from service.access.passwords import verify_password
from service.orders.installation import Installation
from service.store import record, wall
from service.store.folder import last_start
from service.usecases.context import Context

_ADJTIMEX_BYTES = 512
"""More than the kernel's ``struct timex`` takes; zeros ask for nothing but an answer (adjtimex(2))."""
_TIME_ERROR = 5
_LANDLOCK_CREATE_RULESET = 444
_LANDLOCK_VERSION = 1
"""System call and flag of landlock_create_ruleset(2); with the flag it answers with the kernel's version of it."""


def installation_of(ctx: Context) -> Installation:
    """Look at settings, rights, the made-up workshop's password, clock and kernel."""
    told = ctx.installed_as
    with ctx.store.reading() as connection:
        newest = record.newest_moment(connection)
        walled = wall.holds(connection)
    return Installation(
        now=ctx.clock.now(),
        public_url=told.public_url,
        host=told.host,
        trusts_a_proxy=told.trusts_a_proxy,
        sends_mail=told.sends_mail,
        folder_rights=_rights(ctx.folder),
        seeded_password=_seeded_password_opens(ctx),
        newest_entry=newest,
        clock_kept=_clock_is_kept(),
        walled=walled,
        cage=_no_cage(),
        version=VERSION,
        running=last_start(ctx.folder).version if ctx.folder else "",
    )


def _rights(folder: Path | None) -> int | None:
    try:
        return None if folder is None else folder.stat().st_mode & 0o777
    except OSError:
        return None


def _seeded_password_opens(ctx: Context) -> bool:
    """Whether somebody can sign in with what the documentation prints; a try takes about 140 ms where there is one."""
    import seeds.shop  # the made-up workshop is read only where this is asked

    facts = seeds.shop.load()
    with ctx.store.reading() as connection:
        hashes = {
            each.password_hash for person in facts.people for each in accounts_of(connection, person.email)
        }
    return any(verify_password(each, facts.password) for each in hashes)


def _clock_is_kept() -> bool | None:
    state: int = ctypes.CDLL(None).adjtimex(ctypes.create_string_buffer(_ADJTIMEX_BYTES))
    return None if state < 0 else state != _TIME_ERROR


def _no_cage() -> str:
    version: int = ctypes.CDLL(None).syscall(_LANDLOCK_CREATE_RULESET, None, 0, _LANDLOCK_VERSION)
    return (
        ""
        if version > 0
        else "this machine's kernel has no Landlock (Linux 5.13 or later, with it switched on)."
    )
