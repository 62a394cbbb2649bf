"""Files by the SHA-256 of their bytes in an S3 bucket."""

from __future__ import annotations

import contextlib
import hashlib
import tempfile
from collections.abc import Iterable, Iterator
from datetime import datetime, timedelta
from typing import TYPE_CHECKING

from obstore.exceptions import AlreadyExistsError, BaseError, NotFoundError

from service.store.blobs import (
    CHUNK,
    BlobEntry,
    BlobMissingError,
    BlobsAwayError,
    checked_bytes,
    checked_name,
    chunks_of,
)

if TYPE_CHECKING:
    from obstore.store import ClientConfig, S3Store

ANSWER_WITHIN = timedelta(seconds=30)
"""Longest one call may take: ten megabytes over a poor line."""
SILENT_FOR = timedelta(seconds=4)
"""Longest wait for the next byte of what is read, and for the answer to a small file that is kept."""
TRY_AGAIN_WITHIN = timedelta(seconds=4)
"""A call that failed is tried again for so long and no longer: somebody waits, and may come back later."""
MOST_TRIES_AGAIN = 3
SMALL = 1024 * 1024
"""Bytes of a file that is sent within the time of a short answer."""
THERE_WITHIN = timedelta(seconds=1.5)
_ASKED_FOR = "0" * 64


def open_bucket(
    name: str,
    *,
    endpoint: str,
    region: str,
    key_id: str,
    secret: str,
    within: timedelta = ANSWER_WITHIN,
    again: timedelta = TRY_AGAIN_WITHIN,
) -> BucketBlobs:
    """The files in a bucket; nothing is called yet.

    Args:
        name: the bucket's.
        endpoint: ``http://`` or ``https://`` address of the S3 service.
        region: as the service calls its place.
        key_id: of the key pair to sign with.
        secret: the other half.
        within: longest one call may take.
        again: how long calls that failed are tried again.
    """
    from obstore.store import S3Store

    def store(again: timedelta, limits: ClientConfig) -> S3Store:
        return S3Store(
            name,
            endpoint=endpoint,
            region=region,
            access_key_id=key_id,
            secret_access_key=secret,
            virtual_hosted_style_request=False,
            client_options={
                "allow_http": endpoint.startswith("http://"),
                "connect_timeout": timedelta(seconds=2),
                **limits,
            },
            retry_config={"max_retries": MOST_TRIES_AGAIN, "retry_timeout": again},
        )

    silence = min(SILENT_FOR, within)
    return BucketBlobs(
        store(again, {"timeout": within, "read_timeout": silence}),
        store(again, {"timeout": within}),
        store(timedelta(), {"timeout": THERE_WITHIN}),
    )


class BucketBlobs:
    """Files in an S3 bucket under ``blobs/``; a create never overwrites."""

    def __init__(self, store: S3Store, for_large: S3Store, to_ask: S3Store) -> None:
        """The same bucket thrice.

        Args:
            store: for what is answered soon, or byte by byte.
            for_large: to keep large files, of which nothing is heard until all is there.
            to_ask: whether it is there.
        """
        self._store = store
        self._for_large = for_large
        self._to_ask = to_ask

    def put(self, data: bytes | Iterable[bytes]) -> str:
        """Collect in a temporary file, then create under the digest; an existing object is left alone."""
        with tempfile.SpooledTemporaryFile(max_size=CHUNK * 16) as file:
            sha = hashlib.sha256()
            for chunk in chunks_of(data):
                sha.update(chunk)
                file.write(chunk)
            digest = sha.hexdigest()
            file.seek(0)
            whole = file.read()
            store = self._store if len(whole) <= SMALL else self._for_large
            with contextlib.suppress(AlreadyExistsError), _errors(digest):
                store.put(self._key(digest), whole, mode="create", use_multipart=False)
        return digest

    def get(self, digest: str) -> bytes:
        """See Blobs."""
        with _errors(digest):
            return checked_bytes(digest, bytes(self._store.get(self._key(digest)).bytes()))

    def part(self, digest: str, start: int, length: int) -> bytes:
        """See Blobs."""
        with _errors(digest):
            return bytes(self._store.get_range(self._key(digest), start=start, length=length))

    def size(self, digest: str) -> int | None:
        """See Blobs."""
        try:
            with _errors(digest):
                return int(self._store.head(self._key(digest))["size"])
        except BlobMissingError:
            return None

    def delete(self, digest: str) -> None:
        """See Blobs."""
        with contextlib.suppress(BlobMissingError), _errors(digest):
            self._store.delete(self._key(digest))

    def entries(self) -> Iterator[BlobEntry]:
        """See Blobs."""
        with _errors("listing"):
            for page in self._store.list(prefix="blobs/"):
                for item in page:
                    yield BlobEntry(item["path"].rsplit("/", 1)[-1], item["size"], item["last_modified"])

    def clear_incoming(self, older_than: timedelta, now: datetime) -> int:  # noqa: ARG002
        """See Blobs: an object is there whole or not at all."""
        return 0

    def there(self) -> bool:
        """See Source."""
        try:
            with _errors(_ASKED_FOR):
                self._to_ask.head(self._key(_ASKED_FOR))
        except BlobMissingError:
            return True
        except BlobsAwayError:
            return False
        return True

    @staticmethod
    def _key(digest: str) -> str:
        return f"blobs/{checked_name(digest)[:2]}/{digest}"


@contextlib.contextmanager
def _errors(digest: str) -> Iterator[None]:
    try:
        yield
    except AlreadyExistsError:
        raise
    except (NotFoundError, FileNotFoundError):
        raise BlobMissingError(digest) from None
    except BaseError as error:
        raise BlobsAwayError(str(error)) from error
