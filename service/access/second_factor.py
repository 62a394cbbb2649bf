"""The second step when signing in: a code from an app (TOTP, RFC 6238), or one of the codes kept for a bad day.

The key has to be kept, for it makes the codes anew: sealed where there is a key file (``service.store.vault``), in a
table of its own that nothing else reads. Codes for a bad day carry 120 random bits, so their plain digest is enough
(as for every secret here).
"""

from __future__ import annotations

import base64
import hmac
import secrets
from dataclasses import dataclass
from datetime import datetime

from cryptography.hazmat.primitives.hashes import SHA1
from cryptography.hazmat.primitives.twofactor.totp import TOTP
from sqlalchemy import Connection, delete, func, insert, select, update

from service.access.secrets import digest
from service.store.access_tables import accounts, recovery_codes, second_factors
from service.store.tables import workshops
from service.store.vault import vault_of

STEP_SECONDS = 30
DIGITS = 6
_KEY_BYTES = 20  # RFC 4226 §4, R6: 160 bits recommended
_PLAIN_LENGTH = 32  # of such a key in base32; a sealed one is longer
_CODES = 10
_CODE_BYTES = 15
_ISSUER = "Slatproof"


@dataclass(frozen=True)
class Enrolment:
    """A key just made: the only moment it is shown.

    Attributes:
        secret: base32, for typing in by hand.
        uri: for the app, as a square code.
    """

    secret: str
    uri: str


def code_at(key: bytes, at: datetime) -> str:
    """The code of that moment. SHA-1, six digits, 30 s: what every app knows (RFC 6238 §1.2)."""
    return _totp(key).generate(int(at.timestamp())).decode()


def begin(connection: Connection, account_id: str, email: str, now: datetime) -> Enrolment:
    """A new key for an account; it asks for nothing until :func:`confirm`. One that is confirmed stays."""
    key = secrets.token_bytes(_KEY_BYTES)
    unconfirmed = second_factors.c.confirmed_at.is_(None)
    connection.execute(delete(second_factors).where(second_factors.c.account_id == account_id, unconfirmed))
    secret = base64.b32encode(key).decode()
    kept = vault_of(connection).seal(key, _whose(account_id)) or secret
    connection.execute(
        insert(second_factors).values(account_id=account_id, secret=kept, created_at=now, last_step=0)
    )
    return Enrolment(secret, _totp(key).get_provisioning_uri(email, _ISSUER))


def confirm(connection: Connection, account_id: str, code: str, now: datetime) -> tuple[str, ...] | None:
    """From now on the code is asked for; the codes for a bad day, or ``None`` where the code is not right."""
    if is_on(connection, account_id) or not _take_step(connection, account_id, code, now):
        return None
    connection.execute(
        update(second_factors).where(second_factors.c.account_id == account_id).values(confirmed_at=now)
    )
    made = tuple(_new_code() for _ in range(_CODES))
    rows = [{"code_hash": digest(_plain(code)), "account_id": account_id} for code in made]
    connection.execute(insert(recovery_codes), rows)
    return made


def is_on(connection: Connection, account_id: str) -> bool:
    """Whether the account needs a code to sign in."""
    found = select(second_factors.c.confirmed_at).where(second_factors.c.account_id == account_id)
    return connection.scalar(found) is not None


def is_required(connection: Connection, workshop_id: str) -> bool:
    """Whether the workshop asks a second step of everybody."""
    asked = select(workshops.c.second_step_required).where(workshops.c.id == workshop_id)
    return bool(connection.scalar(asked))


def require(connection: Connection, workshop_id: str, required: bool) -> bool:
    """Ask a second step of everybody of a workshop, or leave it to them; whether that is a change."""
    changed = update(workshops).where(
        workshops.c.id == workshop_id, workshops.c.second_step_required != required
    )
    return connection.execute(changed.values(second_step_required=required)).rowcount == 1


def those_with(connection: Connection, workshop_id: str) -> frozenset[str]:
    """The accounts of a workshop that need a code to sign in."""
    found = select(second_factors.c.account_id).join(accounts, accounts.c.id == second_factors.c.account_id)
    on = found.where(accounts.c.workshop_id == workshop_id, second_factors.c.confirmed_at.is_not(None))
    return frozenset(connection.scalars(on))


def codes_left(connection: Connection, account_id: str) -> int:
    """How many codes for a bad day are still good."""
    left = select(func.count()).where(
        recovery_codes.c.account_id == account_id, recovery_codes.c.used_at.is_(None)
    )
    return connection.scalar(left) or 0


def accept(connection: Connection, account_id: str, code: str, now: datetime) -> bool:
    """Take a code of the app or one for a bad day; each is good once."""
    return _take_step(connection, account_id, code, now) or _take_recovery(connection, account_id, code, now)


def drop(connection: Connection, account_id: str) -> bool:
    """Ask for no code any more; whether one was asked for until now."""
    was_on = is_on(connection, account_id)
    connection.execute(delete(second_factors).where(second_factors.c.account_id == account_id))
    connection.execute(delete(recovery_codes).where(recovery_codes.c.account_id == account_id))
    return was_on


def _take_step(connection: Connection, account_id: str, code: str, now: datetime) -> bool:
    """The code of this step, or of the one just over (RFC 6238 §5.2), and none that was taken before."""
    kept = select(second_factors.c.secret, second_factors.c.last_step)
    row = connection.execute(
        kept.where(second_factors.c.account_id == account_id).with_for_update()
    ).one_or_none()
    if row is None:
        return False
    key, step = _key_of(connection, account_id, row.secret), int(now.timestamp()) // STEP_SECONDS
    sent = _plain(code).encode()
    for each in (step, step - 1):
        right = hmac.compare_digest(_totp(key).generate(each * STEP_SECONDS), sent)
        if right and each > row.last_step:
            taken = update(second_factors).where(second_factors.c.account_id == account_id)
            connection.execute(taken.values(last_step=each))
            return True
    return False


def seal_keys(connection: Connection) -> None:
    """Seal the keys that are kept as they are, where the connection's vault has a key; see that all of them open."""
    for row in connection.execute(select(second_factors.c.account_id, second_factors.c.secret)).all():
        key = _key_of(connection, row.account_id, row.secret)
        sealed = vault_of(connection).seal(key, _whose(row.account_id))
        if sealed is not None:
            of_account = update(second_factors).where(second_factors.c.account_id == row.account_id)
            connection.execute(of_account.values(secret=sealed))


def _key_of(connection: Connection, account_id: str, kept: str) -> bytes:
    if len(kept) == _PLAIN_LENGTH:
        return base64.b32decode(kept)
    return vault_of(connection).open(kept, _whose(account_id))


def _whose(account_id: str) -> str:
    return f"second step of account {account_id}"


def _take_recovery(connection: Connection, account_id: str, code: str, now: datetime) -> bool:
    used = update(recovery_codes).where(
        recovery_codes.c.account_id == account_id,
        recovery_codes.c.code_hash == digest(_plain(code)),
        recovery_codes.c.used_at.is_(None),
    )
    return connection.execute(used.values(used_at=now)).rowcount == 1


def _totp(key: bytes) -> TOTP:
    return TOTP(key, DIGITS, SHA1(), STEP_SECONDS)  # noqa: S303 - within HMAC, as the standard has it


def _new_code() -> str:
    text = base64.b32encode(secrets.token_bytes(_CODE_BYTES)).decode().lower()
    return "-".join(text[i : i + 6] for i in range(0, len(text), 6))


def _plain(code: str) -> str:
    """As people type it: with spaces, dashes, capitals."""
    return "".join(sign for sign in code.lower() if sign.isalnum())
