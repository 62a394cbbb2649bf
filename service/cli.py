"""The command line: serve, migrate, and what a workshop's own machine needs to look after its data."""

from __future__ import annotations

import argparse
import logging
import sys
from collections.abc import Callable, Sequence
from pathlib import Path
from typing import TYPE_CHECKING

from service.settings import PREFIX, BadSettings, Settings, load_settings

if TYPE_CHECKING:
    from service.root import Service

# The heavy rooms are imported inside the commands: processes for carving arithmetic import this module again.
Command = Callable[[Settings, argparse.Namespace], int]


def main(arguments: Sequence[str] | None = None) -> int:
    """Run one command; its exit status."""
    parser = _parser()
    given = parser.parse_args(arguments)
    try:
        settings = load_settings(data=given.data, port=getattr(given, "port", None), seed=_seed(given))
    except BadSettings as bad:
        print(f"These settings cannot be used:\n{bad}", file=sys.stderr)
        return 2
    logging.basicConfig(
        level=settings.log_level.upper(), format="%(asctime)s %(levelname)s %(name)s %(message)s"
    )
    logging.getLogger("httpx2").setLevel(
        logging.WARNING
    )  # pages calling the API in process: one line is enough
    command: Command = given.command
    return command(settings, given)


def _seed(given: argparse.Namespace) -> bool | None:
    return True if getattr(given, "seed", False) else None


def _parser() -> argparse.ArgumentParser:
    parser = argparse.ArgumentParser(prog="slatproof", description=__doc__)
    commands = parser.add_subparsers(required=True, metavar="command")

    def add(name: str, command: Command, words: str) -> argparse.ArgumentParser:
        made = commands.add_parser(name, help=words, description=words)
        made.add_argument("--data", type=Path, help="folder that holds everything (default: ./data)")
        made.set_defaults(command=command)
        return made

    serve = add("serve", _serve, "bring the database up to date, then answer requests and do the work")
    serve.add_argument("--port", type=int, help="port to listen on (default: 8080)")
    serve.add_argument("--seed", action="store_true", help="load the made-up workshop first")
    add("migrate", _migrate, "bring the database up to this version")
    add("seed", _load_seed, "load the made-up workshop; does nothing where it is already there")
    add("settings", _settings, "list the settings there are")
    add("verify-record", _verify_record, "re-check the record of decisions of every workshop")
    check = add("verify", _verify, "check a batch archive, with nothing but the archive")
    check.add_argument("archive", type=Path, help="the ZIP file")
    check.add_argument(
        "--key", help="the workshop's public key, 64 hex digits, where you have it from elsewhere"
    )
    return parser


def _build(settings: Settings) -> Service:
    from service.root import build

    return build(settings)


def _serve(settings: Settings, _given: argparse.Namespace) -> int:
    import uvicorn

    service = _build(settings)
    service.migrate()
    if settings.seed:
        _seed_shop(service)
    server = uvicorn.Server(
        uvicorn.Config(
            service.app,
            host=settings.host,
            port=settings.port,
            log_config=None,
            access_log=False,
            proxy_headers=bool(settings.trusted_proxies),
            forwarded_allow_ips=settings.trusted_proxies or None,
            server_header=False,
            date_header=True,
            timeout_graceful_shutdown=10,
            h11_max_incomplete_event_size=64 * 1024,
        )
    )
    server.run()
    return 0 if server.started else 1


def _migrate(settings: Settings, _given: argparse.Namespace) -> int:
    _build(settings).migrate()
    print("The database is up to date.")
    return 0


def _load_seed(settings: Settings, _given: argparse.Namespace) -> int:
    service = _build(settings)
    service.migrate()
    _seed_shop(service)
    return 0


def _seed_shop(service: Service) -> None:
    from service.seeding import seed_shop

    print(seed_shop(service.ctx))


def _settings(_settings: Settings, _given: argparse.Namespace) -> int:
    for name, field in Settings.model_fields.items():
        words = field.description or ""
        print(f"{PREFIX}{name.upper():<20} {words} (default: {field.default!r})")
    return 0


def _verify_record(settings: Settings, _given: argparse.Namespace) -> int:
    from service.orders.actors import System
    from service.usecases import keeping, shop

    service = _build(settings)
    bad = 0
    for workshop in shop.list_workshops(service.ctx):
        fault = keeping.verify_record(service.ctx, System(workshop.id))
        if fault is None:
            print(f"{workshop.key}: the record holds")
        else:
            bad += 1
            print(f"{workshop.key}: entry {fault.number} does not hold: {fault.reason}", file=sys.stderr)
    return 1 if bad else 0


def _verify(_settings: Settings, given: argparse.Namespace) -> int:
    from service.batches.verify import verify

    try:
        key = bytes.fromhex(given.key) if given.key else None
    except ValueError:
        print("The key must be 64 hex digits.", file=sys.stderr)
        return 2
    if not given.archive.is_file():
        print(f"There is no file {given.archive}.", file=sys.stderr)
        return 2
    verdict = verify(given.archive, key)
    print(verdict.sentence, file=sys.stdout if verdict.sound else sys.stderr)
    return 0 if verdict.sound else 1


if __name__ == "__main__":
    sys.exit(main())
