"""Runs every command of docs/your-own-server.md on a bare machine, behind nginx with TLS, and asks it for pages.

Started by ``scripts/fresh --server`` inside a system made for it, as root, with Debian's own Python and nothing else.
There is no systemd inside: where the page starts a unit, this starts what the unit says, as the user it says.
"""

from __future__ import annotations

import os
import re
import subprocess
import sys
import time
from collections.abc import Iterator
from pathlib import Path

GUIDE = Path("docs/your-own-server.md")
STEP = re.compile(r"^```sh\n(?P<commands>.*?)^```$|^<!-- runner: (?P<act>.+?) -->$", re.MULTILINE | re.DOTALL)
ADDRESS = "https://orders.example.org"
CURL = (
    "curl",
    "-sS",
    "--fail-with-body",
    "--cacert",
    "/etc/ssl/slatproof/fullchain.pem",
    "--resolve",
    "orders.example.org:443:127.0.0.1",
)
LONGEST_START = 120.0
LOG = Path("/var/log/slatproof.log")


def steps(text: str) -> Iterator[tuple[str, str]]:
    for found in STEP.finditer(text):
        yield ("act", found["act"]) if found["act"] else ("commands", found["commands"])


class Machine:
    """What stands in for systemd."""

    def __init__(self) -> None:
        self.running: dict[str, subprocess.Popen[bytes]] = {}
        self.said = ""

    def run(self, commands: str) -> None:
        for line in commands.strip().splitlines():
            print(f"# {line}", flush=True)
            done = subprocess.run(
                ["bash", "-euc", line],
                check=False,
                stdout=subprocess.PIPE,
                stderr=subprocess.STDOUT,
                text=True,
            )
            self.said = done.stdout
            print(done.stdout, end="", flush=True)
            if done.returncode:
                sys.exit(f"this command of the page ended with {done.returncode}: {line}")

    def act(self, words: str) -> None:
        print(f"· {words}", flush=True)
        verb, _, what = words.partition(" ")
        if words == "start nginx":
            subprocess.run(["nginx"], check=True)
            self.first_page()
        elif words == "open the link":
            self.open_the_link()
        else:
            if verb in ("stop", "restart"):
                self.stop(what)
            if verb in ("start", "restart"):
                self.start(what)

    def start(self, unit: str) -> None:
        lines = Path("/etc/systemd/system", unit).read_text().splitlines()
        told = dict(line.split("=", 1) for line in lines if "=" in line and not line.startswith("#"))
        environ = {"PATH": os.environ["PATH"], "LANG": "C.UTF-8"}
        for line in Path(told["EnvironmentFile"]).read_text().splitlines():
            if line and not line.startswith("#"):
                name, _, value = line.partition("=")
                environ[name] = value
        command = [
            "runuser",
            "-u",
            told["User"],
            "--",
            "bash",
            "-c",
            f"umask {told['UMask']}; exec {told['ExecStart']}",
        ]
        with LOG.open("ab") as log:
            self.running[unit] = subprocess.Popen(
                command, env=environ, cwd=told["WorkingDirectory"], stdout=log, stderr=log
            )
        wait_for(lambda: ask("http://127.0.0.1:8080/health/ready"), self.running[unit])

    def stop(self, unit: str) -> None:
        subprocess.run(
            ["pkill", "-TERM", "-u", "slatproof", "-f", "slatproof serve|service.cli serve"], check=False
        )
        self.running.pop(unit).wait(60)

    def first_page(self) -> None:
        wait_for(lambda: ask(f"{ADDRESS}/"))
        headers = subprocess.run(
            [*CURL, "-I", f"{ADDRESS}/"], capture_output=True, text=True, check=True
        ).stdout
        assert "strict-transport-security" in headers.lower(), headers

    def open_the_link(self) -> None:
        link = self.said.strip().splitlines()[-1]
        assert link.startswith(f"{ADDRESS}/password/"), link
        assert "assword" in get(link)


def ask(address: str) -> bool:
    return (
        subprocess.run([*CURL, "-o", "/dev/null", address], capture_output=True, check=False).returncode == 0
    )


def get(address: str) -> str:
    return subprocess.run([*CURL, address], capture_output=True, text=True, check=True).stdout


def wait_for(ready, process: subprocess.Popen[bytes] | None = None) -> None:
    deadline = time.monotonic() + LONGEST_START
    while not ready():
        if time.monotonic() > deadline or (process and process.poll() is not None):
            sys.exit(LOG.read_text()[-3000:])
        time.sleep(0.1)


def main() -> None:
    machine = Machine()
    os.environ["SOURCE"] = str(Path.cwd())
    os.environ["DEBIAN_FRONTEND"] = "noninteractive"
    os.environ["SYSTEMD_OFFLINE"] = "1"  # systemctl(1): units are enabled, and nothing is asked of a manager
    for kind, words in steps(GUIDE.read_text(encoding="utf-8")):
        if kind == "act":
            machine.act(words)
        else:
            machine.run(words)
    assert "alderholt" in get(f"{ADDRESS}/api/v1/workshops"), "the restored place lost its workshop"
    rights = Path("/var/lib/slatproof").stat().st_mode & 0o777
    assert rights == 0o700, f"{rights:o}"
    print(f"every command of {GUIDE} ran")


if __name__ == "__main__":
    main()
