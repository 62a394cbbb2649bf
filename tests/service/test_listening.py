"""`serve`: the port first, three lines for a person at a terminal, an end without a traceback."""

from __future__ import annotations

import os
import pty
import select
import signal
import socket
import subprocess
import sys
import time
from pathlib import Path

import pytest

from service import cli, server
from service.listening import PortError, first_step, listen, port_of
from service.settings import Settings

ROOT = Path(__file__).parents[2]
LONGEST_START = 120.0


def test_a_port_that_is_taken_is_one_sentence_and_nothing_is_touched(tmp_path):
    with socket.create_server(("127.0.0.1", 0)) as other:
        port = other.getsockname()[1]
        command = [
            sys.executable,
            "-m",
            "service.cli",
            "serve",
            "--port",
            str(port),
            "--data",
            str(tmp_path / "d"),
        ]
        ended = subprocess.run(command, cwd=ROOT, capture_output=True, text=True, check=False)
    assert ended.returncode == 1
    assert ended.stderr == (
        f"127.0.0.1, port {port}, cannot be served: something else listens there; "
        "stop that, or give another port with --port.\n"
    )
    assert not (tmp_path / "d").exists()


def test_an_address_of_another_machine_says_so():
    with pytest.raises(PortError, match="no such address"):
        listen(Settings(host="192.0.2.1", port=0))  # RFC 5737: an address for documentation, nobody's


def test_port_0_is_the_one_the_system_chose():
    with listen(Settings(port=0)) as listener:
        assert port_of(listener) > 0


@pytest.mark.parametrize(
    ("workshops", "seeded", "words"),
    [(0, "", "slatproof found"), (1, "", "sign in"), (1, "sign in as …", "sign in as …")],
)
def test_the_first_step_is_the_one_that_is_due(workshops, seeded, words):
    assert words in first_step(workshops, seeded)


def at_a_terminal(*arguments: str) -> tuple[int, int]:
    process, terminal = pty.fork()
    if process == 0:
        os.chdir(ROOT)
        os.execv(sys.executable, [sys.executable, "-m", "service.cli", *arguments])
    return process, terminal


def read_until(terminal: int, words: str) -> str:
    """What is written to the terminal, until ``words`` or its end."""
    text, deadline = "", time.monotonic() + LONGEST_START
    while words not in text or not words:
        assert time.monotonic() < deadline, f"{words!r} was not said in {text!r}"
        if not select.select([terminal], [], [], 1)[0]:
            continue
        try:
            part = os.read(terminal, 65536).decode()
        except OSError:  # Linux answers so when the other end is closed
            part = ""
        if not part:
            break
        text += part
    return text


def test_a_person_at_a_terminal_reads_three_lines_and_ends_it_by_ctrl_c(tmp_path):
    process, terminal = at_a_terminal("serve", "--port", "0", "--data", str(tmp_path / "d"))
    said = read_until(terminal, "YOUR@ADDRESS prints your link.")
    lines = said.strip().splitlines()
    assert [line.split(" ")[0] for line in lines] == ["Slatproof", "The", "First:"]
    assert ":0/" not in said
    os.write(terminal, b"\x03")
    rest = read_until(terminal, "")
    status = os.waitstatus_to_exitcode(os.waitpid(process, 0)[1])
    os.close(terminal)
    assert "Traceback" not in rest and "Error" not in rest
    assert status == 0


def test_ctrl_c_before_it_serves_ends_it_in_one_word(tmp_path):
    process, terminal = at_a_terminal("serve", "--port", "0", "--data", str(tmp_path / "d"))
    deadline = time.monotonic() + LONGEST_START
    while not (tmp_path / "d").exists():  # it is about to bring the database up to date
        assert time.monotonic() < deadline
        time.sleep(0.01)
    os.kill(process, signal.SIGINT)
    said = read_until(terminal, "")
    os.waitpid(process, 0)
    os.close(terminal)
    assert "Traceback" not in said


def test_ctrl_c_where_python_drops_exceptions_ends_it_too(tmp_path, monkeypatch, capsys):
    """An exception within __del__ or a weak reference's callback goes nowhere: one of forty interrupts was lost."""

    class Cleared:
        def __del__(self):
            os.kill(os.getpid(), signal.SIGINT)
            time.sleep(1)  # the signal's handler runs here, if not before

    ready = server.ready

    def interrupted(settings):
        service = ready(settings)
        Cleared()
        return service

    monkeypatch.setattr(server, "ready", interrupted)
    monkeypatch.setattr(sys, "unraisablehook", lambda _: None)
    assert cli.main(["serve", "--port", "0", "--data", str(tmp_path / "d")]) == cli.INTERRUPTED
    assert "Stopped." in capsys.readouterr().err


def test_links_lead_to_the_port_that_the_running_service_has(tmp_path):
    process, terminal = at_a_terminal("serve", "--port", "0", "--data", str(tmp_path / "d"))
    address = read_until(terminal, "prints your link.").split("answers at ")[1].split("/ ")[0]
    command = [sys.executable, "-m", "service.cli", "found", "fern", "Fern", "Isa", "isa@fern.example"]
    told = subprocess.run(
        [*command, "--data", str(tmp_path / "d")], cwd=ROOT, capture_output=True, text=True, check=True
    )
    os.kill(process, signal.SIGTERM)
    read_until(terminal, "")
    os.waitpid(process, 0)
    os.close(terminal)
    assert f"{address}/password/" in told.stdout


def test_settings_are_printed_as_a_person_writes_them(tmp_path):
    environ = {**os.environ, "SLATPROOF_S3_BUCKET": "b", "SLATPROOF_S3_ENDPOINT": "http://s3.example"}
    environ["SLATPROOF_S3_SECRET"] = "do not tell"
    command = [sys.executable, "-m", "service.cli", "settings", "--data", str(tmp_path)]
    said = subprocess.run(command, cwd=ROOT, env=environ, capture_output=True, text=True, check=True).stdout
    assert f"SLATPROOF_DATA={tmp_path}\n" in said
    assert "Path(" not in said and "Secret" not in said and "do not tell" not in said
    lines = said.splitlines()
    assert all(line.startswith("    ") and line.endswith(".") for line in lines[1::2])
    assert len(lines) == 2 * len(Settings.model_fields)


@pytest.mark.parametrize("command", ["doctor", "usage", "scrub", "sweep"])
def test_a_command_where_nothing_is_kept_says_so_in_a_sentence(command, tmp_path):
    asked = [sys.executable, "-m", "service.cli", command, "--data", str(tmp_path)]
    ended = subprocess.run(asked, cwd=ROOT, capture_output=True, text=True, check=False)
    assert ended.returncode == 1
    assert (
        ended.stderr
        == f"Nothing is kept in {tmp_path} yet: start the service there once, `slatproof serve`.\n"
    )
