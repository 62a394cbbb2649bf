"""``scripts/shape``: the large shape on this machine, from packages, until Ctrl-C."""

from __future__ import annotations

import argparse
import signal
import tempfile
from pathlib import Path

from seeds.shop import load
from tests.parts.shape import Shape


def main() -> None:
    parser = argparse.ArgumentParser(prog="scripts/shape", description=__doc__)
    parser.add_argument("--webs", type=int, default=2, help="web replicas")
    parser.add_argument("--workers", type=int, default=2, help="workers")
    parser.add_argument(
        "--port", type=int, default=8200, help="port of 127.0.0.1 that stands for the proxy's"
    )
    given = parser.parse_args()
    signal.signal(signal.SIGTERM, signal.default_int_handler)
    with tempfile.TemporaryDirectory(prefix="slatproof-shape-") as home:
        shape = Shape(Path(home), webs=given.webs, workers=given.workers, port=given.port)
        try:
            shape.start(seed=True)
            print(f"{given.webs} web replicas and {given.workers} workers on PostgreSQL and S3: {shape.url}")
            print(f"the maker's bench: {shape.url}/bench (tamsin@oxbarrow.example, '{load().password}')")
            print(f"logs: {home}; nothing here is kept. Ctrl-C stops it.", flush=True)
            signal.pause()
        except KeyboardInterrupt:
            print("\nstopping")
        finally:
            shape.stop()


if __name__ == "__main__":
    main()
