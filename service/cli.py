"""The command line: serve, migrate, and what a workshop's own machine needs to look after its data."""

from __future__ import annotations

import argparse
import importlib
import logging
import os
import signal
import socket
import sys
import threading
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager, suppress
from pathlib import Path
from typing import TYPE_CHECKING

from service import VERSION, logs, memory
from service.settings import PREFIX, BadSettingsError, Settings, load_settings, settings_file, told
from service.store.folder import Noted, note_start

if TYPE_CHECKING:
    import uvicorn

    from service.root import Service

# The heavy rooms are imported inside the commands: processes for carving arithmetic import this module again.
Command = Callable[[Settings, argparse.Namespace], int]

_EVERYBODY_KNOWS = (
    "Somebody of the made-up workshop still has the password that everybody knows, and this service is to be reached "
    "from other machines. Start it on 127.0.0.1, choose another password there, then start it again."
)
INTERRUPTED = 130
"""Exit status of a command that Ctrl-C stopped, as shells count it."""
_KEY_BYTES = 32
IDLE_CONNECTION_SECONDS = 75
"""Longer than proxies and clients keep a connection that nobody uses (60 s is common). Whoever closes first must be
the one that sends next: a request on its way while the server closes gets no answer."""


def main(arguments: Sequence[str] | None = None) -> int:
    """Run one command; its exit status."""
    parser = _parser()
    given = parser.parse_args(arguments)
    try:
        settings = load_settings(
            _environ(given),
            data=given.data,
            port=getattr(given, "port", None),
            seed=_seed(given),
            role=_role(given),
        )
    except BadSettingsError as bad:
        print(f"These settings cannot be used:\n{bad}", file=sys.stderr)
        return 2
    os.umask(0o077)  # what is written is for this user alone
    logs.configure(settings.log_level, for_people=sys.stderr.isatty())
    memory.keep_few_arenas()
    command: Command = given.command
    try:
        return command(settings, given)
    except KeyboardInterrupt:
        print("Stopped.", file=sys.stderr)
        return INTERRUPTED
    except BrokenPipeError:  # whoever read along has had enough
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        return 0


def _environ(given: argparse.Namespace) -> dict[str, str]:
    """The variables of this process; those of a file of settings count where it has none of that name."""
    return (settings_file(given.settings) if given.settings else {}) | dict(os.environ)


def _seed(given: argparse.Namespace) -> bool | None:
    return True if getattr(given, "seed", False) else None


def _role(given: argparse.Namespace) -> str | None:
    if given.command is _work:
        return "worker"
    return "web" if getattr(given, "no_worker", False) else None


def _parser() -> argparse.ArgumentParser:
    parser = argparse.ArgumentParser(prog="slatproof", description=__doc__)
    commands = parser.add_subparsers(required=True, metavar="command")

    def add(name: str, command: Command, words: str) -> argparse.ArgumentParser:
        made = commands.add_parser(name, help=words, description=words)
        made.add_argument("--data", type=Path, help="folder that holds everything (default: ./data)")
        made.add_argument(
            "--settings", type=Path, metavar="FILE", help=f"file of settings, {PREFIX}NAME=value lines"
        )
        made.set_defaults(command=command)
        return made

    serve = add("serve", _serve, "bring the database up to date, then answer requests and do the work")
    serve.add_argument("--port", type=int, help="port to listen on (default: 8080)")
    serve.add_argument("--seed", action="store_true", help="load the made-up workshop first")
    serve.add_argument(
        "--no-worker", action="store_true", help="answer only; other processes do the work (see `work`)"
    )
    add("work", _work, "bring the database up to date, then do background work and send mail")
    add("migrate", _migrate, "bring the database up to this version")
    add("seed", _load_seed, "load the made-up workshop; does nothing where it is already there")
    founded = add("found", _late("admin_commands", "found"), "found a workshop with its first maker")
    founded.add_argument("key", help="short name in addresses: lower-case letters, figures, hyphens")
    founded.add_argument("name", help="what people call the workshop")
    founded.add_argument("maker", help="what people call its first maker")
    founded.add_argument("address", help="the maker's mail address")
    let_in = add("let-in", _late("admin_commands", "let_in"), "let in who lost password, phone and codes")
    let_in.add_argument("address", help="the mail address of their account")
    add("settings", _settings, "list the settings there are, what they mean and what they are now")
    record = add("verify-record", _verify_record, "re-check the record of decisions of every workshop")
    record.add_argument(
        "--checkpoints",
        type=Path,
        help="file kept elsewhere: the record is compared with each line of it, then today's is added",
    )
    backup = add(
        "backup",
        _late("maintenance", "backup"),
        "back everything up into a folder, while people go on working",
    )
    backup.add_argument("folder", type=Path, help="on another disk; the same one every time")
    backup.add_argument("--keep", type=_from_one, help="remove all older backups but so many")
    restored = add(
        "restore", _late("maintenance", "restore"), "put a backup into an empty place, and check it there"
    )
    restored.add_argument("backup", type=Path, help="a backup, or a folder of them: then the newest")
    moved = add(
        "move", _late("maintenance", "move"), "put everything into another, empty place, and check it there"
    )
    moved.add_argument("--to", type=Path, required=True, help=f"file of settings, {PREFIX}NAME=value lines")
    shop = add(
        "move-shop",
        _late("maintenance", "move_shop"),
        "put one workshop into another place, beside those there",
    )
    shop.add_argument("key", help="the workshop's public key")
    shop.add_argument("--to", type=Path, required=True, help=f"file of settings, {PREFIX}NAME=value lines")
    shop.add_argument(
        "--close", action="store_true", help="let nobody into it here any more, once it is there"
    )
    scrubbed = add(
        "scrub",
        _late("maintenance", "scrub"),
        "compare every file with its name; say which orders are touched",
    )
    scrubbed.add_argument("--heal", type=Path, help="folder of backups to take good copies from")
    usage = add(
        "usage", _late("maintenance", "usage"), "print what each workshop used, a table for a host's bill"
    )
    usage.add_argument(
        "--days", type=_from_one, default=30, help="orders, proofs and work of so many days (30)"
    )
    add(
        "directory",
        _late("maintenance", "directory"),
        "print which workshops are here, lines of a host's directory of places",
    )
    add("doctor", _late("maintenance", "doctor"), "say what is wrong with this installation, and what to do")
    add("sweep", _late("maintenance", "sweep"), "remove what is kept no longer, and files that nothing names")
    check = add(
        "verify", _verify, "check a batch archive: files, signature, approvals, every byte made again"
    )
    check.add_argument("archive", type=Path, help="the ZIP file")
    check.add_argument(
        "--key",
        help="the workshop's public key, 64 hex digits (default: the keys of the workshops kept here)",
    )
    return parser


def _late(module: str, name: str) -> Command:
    def run(settings: Settings, given: argparse.Namespace) -> int:
        command: Command = getattr(importlib.import_module(f"service.{module}"), name)
        return command(settings, given)

    return run


def _from_one(text: str) -> int:
    number = int(text)
    if number < 1:
        raise argparse.ArgumentTypeError("at least 1")
    return number


def _build(settings: Settings) -> Service:
    from service.root import build

    return build(settings)


def _ready(settings: Settings) -> Service | None:
    """A service whose database is up to date; ``None``, and why on standard error, where there is none."""
    from service.startup_errors import UNUSABLE, why_unusable

    try:
        service = _build(settings)
        service.migrate()
    except UNUSABLE as trouble:
        print(why_unusable(trouble, settings), file=sys.stderr)
        return None
    return service


def _work(settings: Settings, _given: argparse.Namespace) -> int:
    service = _ready(settings)
    if service is None:
        return 1
    ended = threading.Event()
    for number in (signal.SIGTERM, signal.SIGINT):
        signal.signal(number, lambda *_: ended.set())
    service.start()
    if settings.worker_metrics_port:
        from prometheus_client import start_http_server

        start_http_server(settings.worker_metrics_port, addr="127.0.0.1")
    while not (ended.wait(0.2) or service.struck.is_set() or service.broken.is_set()):
        pass
    service.stop()
    return _begin_anew(service)


def _begin_anew(service: Service) -> int:
    """A worker that was taken for dead goes on as a fresh process: what it had in hand is others' now."""
    if service.struck.is_set():
        os.execv(sys.executable, sys.orig_argv)  # noqa: S606 - this program, as it was started
    return 1 if service.broken.is_set() else 0


def _serve(settings: Settings, _given: argparse.Namespace) -> int:
    from service.listening import PortError, listen, port_of

    if settings.role == "worker":
        print("SLATPROOF_ROLE is worker: start this process with `work`.", file=sys.stderr)
        return 2
    try:
        listener = listen(settings)  # first of all: nothing is brought up to date for a port that is taken
    except PortError as trouble:
        print(trouble.strerror, file=sys.stderr)
        return 1
    with _interrupts() as came, listener:
        return _serve_on(listener, settings.model_copy(update={"port": port_of(listener)}), came)


@contextmanager
def _interrupts() -> Iterator[threading.Event]:
    """Whether Ctrl-C came: where Python clears up after itself it drops the exception, and the program would go on."""
    came = threading.Event()

    def note(*_: object) -> None:
        came.set()
        raise KeyboardInterrupt

    before = signal.signal(signal.SIGINT, note)
    try:
        yield came
    finally:
        signal.signal(signal.SIGINT, before)


def _serve_on(listener: socket.socket, settings: Settings, interrupted: threading.Event) -> int:
    service = _ready(settings)
    if service is None:
        return 1
    if settings.public and _opens_to_everybody(service):
        print(_EVERYBODY_KNOWS, file=sys.stderr)
        return 1
    if settings.embedded:
        _leave_word(settings)
    seeded = _seed_shop(service) if settings.seed else ""
    if unnamed := _unnamed_proxy(settings):
        logging.getLogger("slatproof").warning(unnamed)
    server = _server(service, _lines(service, seeded) if sys.stderr.isatty() else ())
    threading.Thread(target=_end_if_struck, args=(service, server), daemon=True).start()
    if interrupted.is_set():
        raise KeyboardInterrupt
    with suppress(KeyboardInterrupt):  # uvicorn has ended everything in order, and raises it again
        server.run(sockets=[listener])
    return _begin_anew(service) if server.started else 1


def _leave_word(settings: Settings) -> None:
    """Tell commands given beside it that it starts. A full disk does not keep people from reading what is there."""
    try:
        note_start(settings.data, Noted(settings.base_url, VERSION))
    except OSError as trouble:
        words = "commands given beside this service may take another address or version for its own: %s"
        logging.getLogger("slatproof").warning(words, trouble)


def _opens_to_everybody(service: Service) -> bool:
    from service.seeding import opens_with_seeded_password

    return opens_with_seeded_password(service.ctx)


def _lines(service: Service, seeded: str) -> tuple[str, ...]:
    from service.listening import first_lines, first_step
    from service.usecases.shop import list_workshops

    settings = service.settings
    step = first_step(len(list_workshops(service.ctx)), seeded)
    return first_lines(settings.base_url, settings.data, first_step=step)


def _unnamed_proxy(settings: Settings) -> str:
    """What to say where only a proxy can stand in front, and none is declared; else nothing."""
    if settings.trusted_proxies or not settings.base_url.startswith("https://"):
        return ""
    return (
        f"people reach {settings.base_url} by TLS, so a proxy stands in front, and SLATPROOF_TRUSTED_PROXIES names "
        "none: all clients look like one, and limits per network are not kept. Set it to the proxy's address."
    )


def _server(service: Service, lines: tuple[str, ...] = ()) -> uvicorn.Server:
    import uvicorn

    from service.gate import Patience, Places, gated, make_room_for
    from service.listening import TellingServer

    settings = service.settings
    make_room_for(settings.connections_at_once)
    places = Places(settings.connections_at_once, max(settings.connections_at_once // 8, 1))
    proxies = [address.strip() for address in settings.trusted_proxies.split(",") if address.strip()]
    config = uvicorn.Config(
        service.app,
        http=gated(places, Patience(), proxies),
        ws_max_size=settings.body_limit,
        host=settings.host,
        port=settings.port,
        log_config=None,
        access_log=False,
        proxy_headers=bool(settings.trusted_proxies),
        forwarded_allow_ips=settings.trusted_proxies or None,
        server_header=False,
        date_header=True,
        timeout_keep_alive=IDLE_CONNECTION_SECONDS,
        timeout_graceful_shutdown=10,
    )
    return TellingServer(config, lines) if lines else uvicorn.Server(config)


def _end_if_struck(service: Service, server: uvicorn.Server) -> None:
    while not (service.struck.wait(0.5) or service.broken.is_set()):
        pass
    server.should_exit = True


def _migrate(settings: Settings, _given: argparse.Namespace) -> int:
    if _ready(settings) is None:
        return 1
    print("The database is up to date.")
    return 0


def _load_seed(settings: Settings, _given: argparse.Namespace) -> int:
    if settings.public:
        print(
            "The made-up workshop has a password that everybody knows: not at a public address.",
            file=sys.stderr,
        )
        return 2
    service = _ready(settings)
    if service is None:
        return 1
    print(_seed_shop(service))
    return 0


def _seed_shop(service: Service) -> str:
    from service.seeding import seed_shop

    return seed_shop(service.ctx)


def _settings(settings: Settings, _given: argparse.Namespace) -> int:
    for each in told(settings):
        print(f"{each.variable}={each.value}")
        print(f"    {each.meaning}{'' if each.is_default else f' Without it: {each.default}.'}")
    return 0


def _verify_record(settings: Settings, given: argparse.Namespace) -> int:
    from service.recheck import recheck

    said = recheck(_build(settings).ctx, given.checkpoints)
    for words in said.good:
        print(words)
    for words in said.bad:
        print(words, file=sys.stderr)
    return 1 if said.bad else 0


def _verify(settings: Settings, given: argparse.Namespace) -> int:
    from service.batches.verify import verify

    try:
        key = bytes.fromhex(given.key or "")
    except ValueError:
        key = b"?"
    if given.key and len(key) != _KEY_BYTES:
        print(f"The key must be {2 * _KEY_BYTES} hex digits.", file=sys.stderr)
        return 2
    if not given.archive.is_file():
        print(f"There is no file {given.archive}.", file=sys.stderr)
        return 2
    keys = {key} if key else _own_keys(settings)
    if keys is None:
        return 2
    verdict = verify(given.archive, keys)
    print(verdict.sentence, file=sys.stdout if verdict.sound else sys.stderr)
    return 0 if verdict.sound else 1


def _own_keys(settings: Settings) -> frozenset[bytes] | None:
    """Public keys of the workshops kept here, none where there are none; ``None``, told, where they cannot be read."""
    from service.root import keys_here
    from service.startup_errors import UNUSABLE, why_unusable

    try:
        return keys_here(settings)
    except UNUSABLE as trouble:
        print(why_unusable(trouble, settings), file=sys.stderr)
        print("So the workshop's keys are not known here: give the right one with --key.", file=sys.stderr)
        return None


if __name__ == "__main__":
    sys.exit(main())
