"""Commands that let people in: a workshop's first maker, and whoever lost password, phone and codes."""

from __future__ import annotations

import argparse
import sys
from collections.abc import Callable

from artwork.workpiece import Bit
from service.maintenance import opened
from service.orders.errors import DomainError
from service.settings import Settings
from service.startup_errors import UNUSABLE, why_unusable
from service.store.folder import last_start
from service.store.migrating import upgrade
from service.usecases import account_recovery
from service.usecases.context import Context


def found(settings: Settings, given: argparse.Namespace) -> int:
    """Found a workshop with its first maker."""

    def work(ctx: Context) -> str:
        return account_recovery.found_workshop(
            ctx, given.key, given.name, Bit("v60"), email=given.address, maker=given.maker
        )

    return _told(settings, work)


def let_in(settings: Settings, given: argparse.Namespace) -> int:
    """Let somebody in who lost password, phone and codes."""
    return _told(settings, lambda ctx: account_recovery.let_in(ctx, given.address))


def _told(settings: Settings, work: Callable[[Context], str]) -> int:
    """May be done while the service runs: it is one more writer."""
    try:
        with opened(settings) as service:
            upgrade(service.database)
            secret = work(service.ctx)
    except DomainError as refusal:
        print(refusal, file=sys.stderr)
        return 1
    except UNUSABLE as trouble:
        print(why_unusable(trouble, settings), file=sys.stderr)
        return 1
    print("Good once, for two days, to set a password; give it to nobody else:")
    print(f"{_address(settings)}/password/{secret}")
    return 0


def _address(settings: Settings) -> str:
    """Where the service that will take the link answers: what this command was told, else what the service noted."""
    if settings.public_url or not settings.embedded:
        return settings.base_url
    return last_start(settings.data).address or settings.base_url
