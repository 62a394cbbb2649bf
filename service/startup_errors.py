"""Why a place of orders cannot be used, in one line for whoever gave the command."""

from __future__ import annotations

from sqlalchemy.exc import OperationalError

from service.settings import Settings
from service.store.folder import FolderExposedError, FolderTakenError
from service.store.migrating import SchemaAheadError
from service.store.vault import SealedError

UNUSABLE = (FolderTakenError, FolderExposedError, SealedError, SchemaAheadError, OSError, OperationalError)


def why_unusable(trouble: Exception, settings: Settings) -> str:
    """One of :data:`UNUSABLE` in words."""
    match trouble:
        case OSError():
            return f"The folder {settings.data.resolve()} cannot be used: {trouble.strerror}."
        case OperationalError() if "no such table" in str(trouble.orig):
            return f"Nothing is kept in {settings.data.resolve()} yet: start the service there once, `slatproof serve`."
        case OperationalError():
            return f"The database cannot be used: {trouble.orig}. Does it run, with room on its disk?"
    return str(trouble)
