"""``scripts/demo``: starts the service, acts the story, serves until Ctrl-C (with ``--once``: stops)."""

from __future__ import annotations

import argparse
import json
import shutil
import signal
import socket
import sys
from pathlib import Path

import seeds.shop
from seeds.demo.service import running
from seeds.demo.story import Story
from seeds.demo.telling import Teller

OUT = Path("demo-out")
BEFORE = Path("demo-out.before")
"""The last result, until there is a new one."""


def main() -> None:
    """Parses the two options and runs."""
    parser = argparse.ArgumentParser(prog="scripts/demo", description=__doc__)
    parser.add_argument("--once", action="store_true", help="stop after the job, do not go on serving")
    parser.add_argument("--port", type=int, default=0, help="port of 127.0.0.1 (default: a free one)")
    given = parser.parse_args()
    signal.signal(signal.SIGTERM, signal.default_int_handler)
    _make_room()
    teller = Teller()
    try:
        _run(teller, given.port or _free_port(), once=given.once)
    except KeyboardInterrupt:
        print("\nstopped")
    finally:
        if BEFORE.exists():
            print(f"the result of the run before is in {BEFORE}", file=sys.stderr)


def _make_room() -> None:
    """An empty folder for this run; a whole result of an earlier one is kept beside it until this one is whole."""
    if OUT.exists() and not BEFORE.exists():
        OUT.rename(BEFORE)
    shutil.rmtree(OUT, ignore_errors=True)
    OUT.mkdir()


def _run(teller: Teller, port: int, *, once: bool) -> None:
    starting = running(port, OUT / "data", OUT / "service.log")
    with teller.step("start", "starts the service with the made-up workshop"):
        address = starting.__enter__()
    try:
        story = Story(address, OUT, teller)
        summary = story.tell()
        (OUT / "summary.json").write_text(json.dumps(summary, indent=2) + "\n")
        shutil.rmtree(BEFORE, ignore_errors=True)
        teller.say(f"done; see {OUT}/summary.json, {OUT}/batch.zip, {OUT}/previews/")
        if not once:
            teller.say(f"the client's page   {story.client_page}")
            password = seeds.shop.load().password
            teller.say(f"the maker's bench   {address}/bench  (tamsin@oxbarrow.example, '{password}')")
            teller.say(f"the API             {address}/api/v1/openapi.json, {address}/graphql")
            teller.say("Ctrl-C stops it")
            signal.pause()
    finally:
        starting.__exit__(None, None, None)


def _free_port() -> int:
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        port: int = probe.getsockname()[1]
        return port


if __name__ == "__main__":
    main()
