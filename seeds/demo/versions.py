"""A drawing that will not carve: the versions that do, and the one that is taken."""

from __future__ import annotations

from pathlib import Path
from typing import Any

from seeds.demo.door import Door, wait_for
from seeds.demo.telling import Teller

_WORKING = "working"


def take_first_version(
    client: Door, carving: dict[str, Any], artwork: str, teller: Teller, out: Path
) -> dict[str, Any]:
    """What is proposed, told and saved as pictures; the version taken, the least visible change of all."""
    path = f"/carvings/{carving['id']}/versions"
    with teller.step(f"versions {artwork}", f"asks for versions of {artwork} that carve"):
        offered: dict[str, Any] = wait_for(
            lambda: client.get(path), lambda found: found["state"] != _WORKING, "versions that carve"
        )
    if not offered["versions"]:
        raise SystemExit(f"Nothing makes {artwork} carve; the demo's own art should allow it.")
    folder = out / "versions"
    folder.mkdir(exist_ok=True)
    (folder / "sent.webp").write_bytes(client.get_bytes(offered["sent_url"]))
    for number, version in enumerate(offered["versions"], start=1):
        kept = f"{round(100 * version['likeness'])} % of the drawing kept"
        teller.say(f"– {version['sentence']} ({kept})")
        (folder / f"{number}-carved.webp").write_bytes(client.get_bytes(version["picture_url"]))
        if version["changed_url"] is not None:
            (folder / f"{number}-changed.webp").write_bytes(client.get_bytes(version["changed_url"]))
    teller.say(f"what was sent, and the versions beside it, are in {folder}/")
    first: dict[str, Any] = offered["versions"][0]
    with teller.step(f"version {artwork}", f"takes the first: {first['kind']}"):
        client.send(f"{path}/{first['code']}", revision=carving["revision"])
    return first
