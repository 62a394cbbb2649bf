"""The recipe of a place for many workshops, from nothing to a signed and released order, behind nginx with TLS.

``python -m tests.large_recipe``: the settings file, the units and the proxy's block of ``docs/server/large`` as they
stand; only what names another machine or a path of the system is told anew. PostgreSQL and the S3 store are the test
rig's, of packages; what the units say to start is started without systemd, as this user.
"""

from __future__ import annotations

import os
import re
import subprocess
import sys
import tempfile
import time
from collections.abc import Iterator, Mapping
from contextlib import ExitStack, contextmanager
from pathlib import Path

import httpx2
from aiosmtpd.controller import Controller

from service.settings import settings_file
from tests.faults.traffic import WORKSHOP, Order
from tests.parts.database_server import DatabaseServer
from tests.parts.object_store import ObjectStore
from tests.parts.process import Part, free_port, listens
from tests.parts.shape import answers, command
from tests.running import API, FROM_HERE, Json, art

LARGE = Path(__file__).parents[1] / "docs" / "server" / "large"
PASSWORD = "shavings in the coffee again"
_FURNISH = """
from seeds.shop import load
from service.orders.actors import System
from service.root import build
from service.settings import load_settings, settings_file
from service.usecases import shop
import sys
from pathlib import Path
service, facts = build(load_settings(settings_file(Path(sys.argv[1])))), load()
system = System(shop.find_workshop(service.ctx, facts.key).id, "seed")
there = {each.bit.key for each in shop.get_settings(service.ctx, system).bits}
for bit in facts.bits:
    if bit.key not in there:
        shop.save_bit(service.ctx, system, bit, 0)
for model in facts.models:
    shop.save_model(service.ctx, system, model, {}, 0)
service.database.close()
"""
"""What its maker would set at the bench: bits and models."""


class Inbox:
    """A mail server that keeps what it is given."""

    def __init__(self) -> None:
        self.subjects: list[str] = []

    async def handle_DATA(self, _server: object, _session: object, envelope: object) -> str:
        content: bytes = envelope.content  # type: ignore[attr-defined]
        self.subjects += re.findall(r"^Subject: (.*)$", content.decode("utf-8", "replace"), re.MULTILINE)
        return "250 OK"


class Unpriced(Order):
    """An order at a workshop that has set no prices yet."""

    def _signed(self, order: Json) -> Json:
        return self._shown(order)


def unit(name: str, instance: str) -> tuple[list[str], dict[str, str]]:
    """What a unit starts, and the variables of its own."""
    text = (LARGE / f"{name}@.service").read_text().replace("%i", instance)
    told = dict(line.split("=", 1) for line in text.splitlines() if "=" in line and not line.startswith("#"))
    program, *arguments = told["ExecStart"].split()
    assert program == "/opt/slatproof/.venv/bin/slatproof"
    return command(*arguments), dict(each.split("=", 1) for each in told["Environment"].split())


def settings_here(home: Path, changes: Mapping[str, str]) -> Path:
    """The settings file with other addresses and secrets; every name in it stays."""
    lines = []
    for line in (LARGE / "slatproof-host.env").read_text().splitlines():
        name = line.partition("=")[0]
        lines.append(f"{name}={changes[name]}" if name in changes else line)
    file = home / "slatproof-host.env"
    file.write_text("\n".join(lines) + "\n")
    return file


@contextmanager
def proxy(home: Path, port: int, replicas: Mapping[str, int]) -> Iterator[None]:
    """nginx with the block as it stands, on other ports."""
    block = (LARGE / "nginx.conf").read_text().replace("orders.example.org", "localhost")
    block = block.replace("listen 443 ssl", f"listen {port} ssl").replace(
        "listen 80", f"listen {free_port()}"
    )
    block = re.sub(r" *listen \[::\].*\n", "", block).replace("/etc/ssl/slatproof", str(home))
    for written, real in replicas.items():
        block = block.replace(f"127.0.0.1:{written}", f"127.0.0.1:{real}")
    (home / "nginx.conf").write_text(
        f"pid {home}/nginx.pid; error_log {home}/nginx.log; daemon off;\nevents {{}}\n"
        f"http {{ access_log off; client_body_temp_path {home}/body; proxy_temp_path {home}/proxy;\n"
        f"fastcgi_temp_path {home}/f; uwsgi_temp_path {home}/u; scgi_temp_path {home}/s;\n{block}}}\n"
    )
    part = Part("nginx", ["nginx", "-c", str(home / "nginx.conf")], home / "nginx.out")
    part.start()
    part.wait_until(lambda: listens(port))
    try:
        yield
    finally:
        part.stop()


def certificate(home: Path) -> None:
    """Of an authority of one's own, for this machine."""
    made = "openssl req -x509 -newkey rsa:2048 -nodes -days 2 -subj /CN=localhost -addext subjectAltName=DNS:localhost"
    subprocess.run(
        [*made.split(), "-keyout", home / "privkey.pem", "-out", home / "fullchain.pem"],
        check=True, capture_output=True,
    )  # fmt: skip
    os.environ["SSL_CERT_FILE"] = str(home / "fullchain.pem")


def slatproof(file: Path, *arguments: str) -> str:
    """One command of the recipe."""
    done = subprocess.run(
        command(*arguments, "--settings", str(file)), capture_output=True, text=True, check=False
    )
    print(f"# slatproof {' '.join(arguments)}\n{done.stdout}{done.stderr}", end="", flush=True)
    if done.returncode:
        sys.exit(f"slatproof {arguments[0]} ended with {done.returncode}")
    return done.stdout


def main() -> None:
    began = time.monotonic()
    with tempfile.TemporaryDirectory(prefix="slatproof-recipe-") as folder, ExitStack() as stack:
        home, inbox = Path(folder), Inbox()
        home.chmod(0o755)  # nginx's own user reaches its folders
        mail = Controller(inbox, hostname="127.0.0.1", port=free_port())
        mail.start()
        stack.callback(mail.stop)
        database, objects = DatabaseServer(), ObjectStore(home / "objects")
        database.start()
        stack.callback(database.remove)
        objects.start()
        stack.callback(objects.part.kill)
        certificate(home)
        (home / "slatproof.key").write_bytes(os.urandom(32))
        port = free_port()
        url = f"https://localhost:{port}"
        changes = {f"SLATPROOF_{name.upper()}": value for name, value in objects.settings().items()} | {
            "SLATPROOF_DATABASE": database.create("slatproof"),
            "SLATPROOF_DATA": str(home / "data"),
            "SLATPROOF_KEY_FILE": str(home / "slatproof.key"),
            "SLATPROOF_PUBLIC_URL": url,
            "SLATPROOF_SMTP": f"smtp://127.0.0.1:{mail.port}",
        }
        file = settings_here(home, changes)
        slatproof(file, "migrate")
        said = slatproof(
            file, "found", WORKSHOP, "Oxbarrow Benches", "Tamsin Oxbarrow", "tamsin@oxbarrow.example"
        )
        subprocess.run([sys.executable, "-c", _FURNISH, str(file)], check=True)
        replicas = {written: free_port() for written in ("8081", "8082")}
        for written, real in replicas.items():
            stack.callback(start(home, file, "slatproof-web", written, {written: str(real)}).stop)
        stack.callback(start(home, file, "slatproof-work", "1", {}).stop)
        for real in replicas.values():
            wait(lambda real=real: answers(f"http://127.0.0.1:{real}"))
        stack.enter_context(proxy(home, port, replicas))
        order = take_an_order(url, said.split()[-1])
        wait(lambda: len(inbox.subjects) >= 3)
        slatproof(file, "verify-record")
        print("mail:", *sorted(set(inbox.subjects)), sep="\n  ")
        print(
            f"order {order}: signed, released, in its archive, {time.monotonic() - began:.0f} s after nothing"
        )


def start(home: Path, file: Path, name: str, instance: str, ports: Mapping[str, str]) -> Part:
    """A process as its unit starts it, in a folder of its own here."""
    words, own = unit(name, instance)
    words = [ports.get(each, each) for each in words]
    own = {key: value.replace("/var/lib/slatproof", str(home)) for key, value in own.items()}
    part = Part(f"{name}-{instance}", words, home / f"{name}-{instance}.log", settings_file(file) | own)
    part.start()
    return part


def take_an_order(url: str, link: str) -> str:
    """The maker sets a password by the link; the client places, the maker offers, the client signs, it is released."""
    with httpx2.Client(base_url=url, headers=FROM_HERE, timeout=30) as maker:
        assert link.startswith(f"{url}/password/"), link
        assert "assword" in maker.get(link).text
        for path, body in (
            ("/passwords", {"secret": link.rsplit("/", 1)[1], "password": PASSWORD}),
            ("/session", {"email": "tamsin@oxbarrow.example", "password": PASSWORD}),
        ):
            answer = maker.post(API + path, json=body)
            assert answer.is_success, answer.text
        order = Unpriced(url, dict(maker.cookies), art("crest.svg"), seconds=120)
        order.go()
    told = order.told
    assert told.done and told.decisions[-1] == "release", told
    return told.order_id


def wait(done, seconds: float = 60.0) -> None:
    """Until it is so."""
    end = time.monotonic() + seconds
    while not done():
        assert time.monotonic() < end, "it took too long"
        time.sleep(0.2)


if __name__ == "__main__":
    main()
