"""The command line: serve, migrate, and what a workshop's own machine needs to look after its data."""

from __future__ import annotations

import argparse
import importlib
import os
import sys
from collections.abc import Callable, Sequence
from pathlib import Path

from service import logs, memory, server
from service.settings import PREFIX, BadSettingsError, Settings, load_settings, settings_file
from service.settings_told import told

# The heavy rooms are imported inside the commands: processes for carving arithmetic import this module again.
Command = Callable[[Settings, argparse.Namespace], int]

INTERRUPTED = 130
"""Exit status of a command that Ctrl-C stopped, as shells count it."""
_KEY_BYTES = 32


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
    if given.command is server.work:
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

    serve = add("serve", server.serve, "bring the database up to date, then answer requests and do the work")
    serve.add_argument("--port", type=int, help="port to listen on (default: 8080)")
    serve.add_argument("--seed", action="store_true", help="load the made-up workshop first")
    serve.add_argument(
        "--no-worker", action="store_true", help="answer only; other processes do the work (see `work`)"
    )
    add("work", server.work, "bring the database up to date, then do background work and send mail")
    add("migrate", _migrate, "bring the database up to this version")
    add("seed", _load_seed, "load the made-up workshop; does nothing where it is already there")
    founded = add("found", _lazy("admin_commands", "found"), "found a workshop with its first maker")
    founded.add_argument("key", help="short name in addresses: lower-case letters, figures, hyphens")
    founded.add_argument("name", help="what people call the workshop")
    founded.add_argument("maker", help="what people call its first maker")
    founded.add_argument("address", help="the maker's mail address")
    let_in = add("let-in", _lazy("admin_commands", "let_in"), "let in who lost password, phone and codes")
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
        _lazy("maintenance", "backup"),
        "back everything up into a folder, while people go on working",
    )
    backup.add_argument("folder", type=Path, help="on another disk; the same one every time")
    backup.add_argument("--keep", type=_from_one, help="remove all older backups but so many")
    restored = add(
        "restore", _lazy("maintenance", "restore"), "put a backup into an empty place, and check it there"
    )
    restored.add_argument("backup", type=Path, help="a backup, or a folder of them: then the newest")
    moved = add(
        "move", _lazy("maintenance", "move"), "put everything into another, empty place, and check it there"
    )
    moved.add_argument("--to", type=Path, required=True, help=f"file of settings, {PREFIX}NAME=value lines")
    shop = add(
        "move-shop",
        _lazy("maintenance", "move_shop"),
        "put one workshop into another place, beside those there",
    )
    shop.add_argument("key", help="the workshop's public key")
    shop.add_argument("--to", type=Path, required=True, help=f"file of settings, {PREFIX}NAME=value lines")
    shop.add_argument(
        "--close", action="store_true", help="let nobody into it here any more, once it is there"
    )
    scrubbed = add(
        "scrub",
        _lazy("maintenance", "scrub"),
        "compare every file with its name; say which orders are touched",
    )
    scrubbed.add_argument("--heal", type=Path, help="folder of backups to take good copies from")
    usage = add(
        "usage", _lazy("maintenance", "usage"), "print what each workshop used, a table for a host's bill"
    )
    usage.add_argument(
        "--days", type=_from_one, default=30, help="orders, proofs and work of so many days (30)"
    )
    add(
        "directory",
        _lazy("maintenance", "directory"),
        "print which workshops are here, lines of a host's directory of places",
    )
    add("doctor", _lazy("maintenance", "doctor"), "say what is wrong with this installation, and what to do")
    add("sweep", _lazy("maintenance", "sweep"), "remove what is kept no longer, and files that nothing names")
    check = add(
        "verify", _verify, "check a batch archive: files, signature, approvals, every byte made again"
    )
    check.add_argument("archive", type=Path, help="the ZIP file")
    check.add_argument(
        "--key",
        help="the workshop's public key, 64 hex digits (default: the keys of the workshops kept here)",
    )
    return parser


def _lazy(module: str, name: str) -> Command:
    def run(settings: Settings, given: argparse.Namespace) -> int:
        command: Command = getattr(importlib.import_module(f"service.{module}"), name)
        return command(settings, given)

    return run


def _from_one(text: str) -> int:
    number = int(text)
    if number < 1:
        raise argparse.ArgumentTypeError("at least 1")
    return number


def _migrate(settings: Settings, _given: argparse.Namespace) -> int:
    if server.ready(settings) is None:
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
    service = server.ready(settings)
    if service is None:
        return 1
    from service.seeding import seed_shop

    print(seed_shop(service.ctx))
    return 0


def _settings(settings: Settings, _given: argparse.Namespace) -> int:
    for each in told(settings):
        print(f"{each.variable}={each.value}")
        print(f"    {each.meaning}{'' if each.is_default else f' Without it: {each.default}.'}")
    return 0


def _verify_record(settings: Settings, given: argparse.Namespace) -> int:
    from service.recheck import recheck
    from service.root import build

    said = recheck(build(settings).ctx, given.checkpoints)
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
