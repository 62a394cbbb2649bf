"""Style, scripts, fonts and marks: named by their content, kept by browsers for good, compressed once."""

from __future__ import annotations

import gzip
import hashlib
import mimetypes
import re
from functools import cache
from pathlib import Path

import brotli
from starlette.requests import Request
from starlette.responses import Response

from service.rest.files import unless_had

_ROOT = Path(__file__).parent / "static"
_KEEP = "public, max-age=31536000, immutable"
_SQUEEZED = frozenset({".css", ".js", ".svg", ".txt"})
_TYPES = {".js": "text/javascript; charset=utf-8", ".css": "text/css; charset=utf-8", ".woff2": "font/woff2"}
_MARK = re.compile(r"^(?P<stem>.+)\.(?P<mark>[0-9a-f]{12})(?P<ending>\.[a-z0-9]+)$")
_REFERENCE = re.compile(
    r"(?P<before>url\(|from \"|import\(\")(?P<name>\.{1,2}/[a-z0-9/._-]+)(?P<after>\)|\")"
)
_IMPORT = re.compile(r"""^(?:import\s[^"]*|\}\s)from "(\.{1,2}/[a-z0-9/._-]+)";$""", re.MULTILINE)


@cache
def asset_url(name: str) -> str:
    """Where the asset ``name`` (``"css/slatproof.css"``) is served; changes with its content."""
    path = Path(name)
    mark = hashlib.sha256(_content(name)).hexdigest()[:12]
    return f"/static/{path.with_suffix('')}.{mark}{path.suffix}"


@cache
def modules_of(name: str) -> tuple[str, ...]:
    """Addresses of the modules that a script imports at once, directly or through others.

    A page names them beside the script, so that a browser fetches all of them together instead of one after
    another. What a script imports only when it is needed is not among them.
    """
    folder = (_ROOT / name).parent
    imported = [
        str((folder / found).resolve().relative_to(_ROOT))
        for found in _IMPORT.findall((_ROOT / name).read_text(encoding="utf-8"))
    ]
    deeper = [address for one in imported for address in modules_of(one)]
    return tuple(dict.fromkeys([*map(asset_url, imported), *deeper]))


@cache
def _content(name: str) -> bytes:
    """An asset's bytes; what CSS and modules name of each other is replaced by where that is served."""
    path = (_ROOT / name).resolve()
    if not path.is_relative_to(_ROOT) or not path.is_file():
        raise FileNotFoundError(name)
    data = path.read_bytes()
    if path.suffix not in {".css", ".js"} or "vendor" in path.parts:
        return data

    def replaced(found: re.Match[str]) -> str:
        target = (path.parent / found["name"]).resolve().relative_to(_ROOT)
        return found["before"] + asset_url(str(target)) + found["after"]

    return _REFERENCE.sub(replaced, data.decode()).encode()


@cache
def _squeezed(name: str, coding: str) -> bytes:
    data = _content(name)
    return bytes(brotli.compress(data)) if coding == "br" else gzip.compress(data, mtime=0)


async def serve_asset(request: Request) -> Response:
    """One asset by its marked name; an old mark gets today's content, but not for good."""
    found = _MARK.match(request.path_params["path"])
    name = f"{found['stem']}{found['ending']}" if found else ""
    try:
        data = _content(name)
    except FileNotFoundError:
        return Response("There is no such file.", 404, media_type="text/plain")
    current = asset_url(name) == request.url.path
    ending = Path(name).suffix
    headers = {"Cache-Control": _KEEP if current else "no-cache", "X-Content-Type-Options": "nosniff"}
    if ending in _SQUEEZED:
        headers["Vary"] = "Accept-Encoding"
        accepted = request.headers.get("accept-encoding", "")
        coding = next((c for c in ("br", "gzip") if c in accepted), None)
        if coding:
            data = _squeezed(name, coding)
            headers["Content-Encoding"] = coding
    kind = _TYPES.get(ending) or mimetypes.guess_type(name)[0] or "application/octet-stream"
    return Response(data, headers=headers, media_type=kind)


async def serve_site_script(request: Request) -> Response:
    """The script that sites put a form into their pages with: at one address for good, and for every origin."""
    answer = unless_had(request, _content("js/site-form.js"), "text/javascript", "public, max-age=3600")
    answer.headers["X-Content-Type-Options"] = "nosniff"
    answer.headers["Cross-Origin-Resource-Policy"] = "cross-origin"
    return answer


async def serve_icon(_request: Request) -> Response:
    """The mark, at the address that a browser asks for by itself: reference, drawings and pictures name none."""
    headers = {"Cache-Control": "public, max-age=86400", "X-Content-Type-Options": "nosniff"}
    return Response(_content("img/mark.svg"), headers=headers, media_type="image/svg+xml")
