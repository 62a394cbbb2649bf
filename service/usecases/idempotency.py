"""Idempotency keys: the same call again gives the first answer and does nothing."""

from __future__ import annotations

import hashlib
from collections.abc import Callable
from typing import Any, TypeVar

from sqlalchemy import Connection
from sqlalchemy.exc import IntegrityError

from service.access.secrets import digest
from service.orders.actors import Actor, Visitor
from service.orders.errors import ConflictError, FieldError, InvalidError
from service.store import jobs
from service.usecases.commands import IdempotencyKey
from service.usecases.context import Context

T = TypeVar("T")
_LONGEST_KEY = 255
_UNGUESSABLE = 20


def idempotent(
    ctx: Context,
    actor: Actor,
    once: IdempotencyKey | None,
    *,
    verb: str,
    work: Callable[[Connection], tuple[T, Any]],
    again: Callable[[Connection, Any], T],
) -> T:
    """Do ``work`` in a transaction, or give the earlier answer.

    Args:
        verb: what is asked for, and after a space of what: each verb has keys of its own.
        work: does it; returns its value, and what to keep so that ``again`` can give the value later.
        again: gives the value from what was kept, changing nothing else.

    Raises:
        Conflict: ``"key-reused"``, the key was used for something else.
    """
    if once is None:
        with ctx.store.writing() as connection:
            return work(connection)[0]
    if not 1 <= len(once.key) <= _LONGEST_KEY or not once.key.isprintable():
        raise InvalidError(
            FieldError("Idempotency-Key", "length", "Use a key of 1 to 255 printable characters.")
        )
    if isinstance(actor, Visitor) and not actor.key and len(once.key) < _UNGUESSABLE:
        # all that tells them from others is the key: the answer holds a link
        words = f"Without a cookie, use a random key of at least {_UNGUESSABLE} characters: a UUID."
        raise InvalidError(FieldError("Idempotency-Key", "guessable", words))
    try:
        return _try_once(ctx, actor, once, verb=verb, work=work, again=again)
    except IntegrityError:
        # Somebody took the same key at the same moment and has committed since: theirs is the answer now.
        return _try_once(ctx, actor, once, verb=verb, work=work, again=again)


def _try_once(
    ctx: Context,
    actor: Actor,
    once: IdempotencyKey,
    *,
    verb: str,
    work: Callable[[Connection], tuple[T, Any]],
    again: Callable[[Connection, Any], T],
) -> T:
    principal, key = _principal(actor), digest(f"{verb.partition(' ')[0]} {once.key}")
    now = ctx.clock.now()
    with ctx.store.writing() as connection:
        earlier = jobs.find_answer(connection, actor.workshop_id, principal, key, now)
        if earlier is not None:
            if earlier[:2] != (verb, once.body):
                raise ConflictError(
                    "key-reused", "This idempotency key was used for another request. Choose a new one."
                )
            once.replay.happened = True
            return again(connection, earlier[2])
        taken = {"verb": verb, "body": once.body, "answer": {}, "created_at": now}
        jobs.claim_key(connection, actor.workshop_id, principal, key, taken)
        value, kept = work(connection)
        jobs.keep_answer(connection, actor.workshop_id, principal, key, kept)
        return value


def _principal(actor: Actor) -> str:
    """Whose key it is. Visitors without a cookie are told apart by the key itself, which nobody can guess: their
    address may change between two tries, as a phone's does.
    """
    name = actor.identity
    if isinstance(actor, Visitor) and not actor.key:
        name = "visitor without a cookie"
    return hashlib.sha256(name.encode()).hexdigest()
