"""Files and the rows that name them: nothing named is ever swept, whatever happens at the same moment.

Bytes are kept first and named after, so that no row names what is not there. A sweep might come between the
two and take them for forgotten. So naming looks again, within the transaction, whether they are still there;
and a sweep decides and deletes while nobody is naming anything.
"""

from __future__ import annotations

from collections.abc import Iterable
from concurrent.futures import ThreadPoolExecutor
from itertools import islice

from sqlalchemy import Connection

from service.store import art
from service.usecases.context import Context

_AT_ONCE = 200
_PUT_AT_ONCE = 8
"""Files on their way to the disk or bucket side by side: each waits for it, hardly any for the processor."""


def put_all(ctx: Context, files: Iterable[bytes]) -> dict[bytes, str]:
    """Keep many files, each once; their digests."""
    each = list(dict.fromkeys(files))
    with ThreadPoolExecutor(_PUT_AT_ONCE, thread_name_prefix="putting") as threads:
        return dict(zip(each, threads.map(ctx.blobs.put, each), strict=True))


def add_blob_refs(ctx: Context, connection: Connection, *kept: tuple[str, bytes]) -> None:
    """Called in the transaction that names these (digest, bytes): they are there when it is committed."""
    art.lock_names(connection, to_sweep=False)
    for digest, data in kept:
        if ctx.blobs.size(digest) is None:
            ctx.blobs.put(data)


def sweep_unnamed(ctx: Context, candidates: Iterable[str]) -> tuple[str, ...]:
    """Delete those of the files that no row names; which."""
    waiting, swept = iter(candidates), []
    while chunk := list(islice(waiting, _AT_ONCE)):
        with ctx.store.writing() as connection:
            art.lock_names(connection, to_sweep=True)
            named = frozenset(art.named_blobs(connection, chunk))
            for digest in chunk:
                if digest not in named:
                    ctx.blobs.delete(digest)
                    swept.append(digest)
    return tuple(swept)
