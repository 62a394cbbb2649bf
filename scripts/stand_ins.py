"""Puts small stand-ins in the place of large libraries that a wheel brings along and the service never calls.

For ``scripts/slim``, in an image that is never set up again: ``stand_ins.py SITE-PACKAGES``. Needs g++ and binutils.
A library that another one is linked against must be there to be loaded, whether it is called or not:

- codecs of films, and writers of pictures that nobody writes here, become hollow: each name ends the process;
- OpenCV's own copy of OpenBLAS becomes a door to the copy that SciPy brings, whose names have ``scipy_`` before them.
"""

from __future__ import annotations

import subprocess
import sys
import tempfile
from collections import defaultdict
from collections.abc import Sequence
from pathlib import Path

FILMS = ("libavcodec", "libavformat", "libavutil", "libswscale")
NEEDED_BY_FILMS = ("libswresample", "libvpx", "libssl", "libcrypto", "libdrm")
NEEDED_BY_OPENBLAS = ("libgfortran", "libquadmath")
END = "call abort@PLT"
NONE = "xor %eax, %eax\n ret"
ANSWERED = ("x265_api_get_217", "x265_cleanup")
"""Asked whenever libheif is loaded or let go: what is answered is that there is no writer."""


class ShapeError(Exception):
    """A wheel is not built as it was when this was written."""


def main(packages: Path) -> None:
    """Replace them in a folder of packages. ShapeError."""
    opencv, heif = packages / "opencv_python_headless.libs", packages / "pillow_heif.libs"
    module = packages / "cv2" / "cv2.abi3.so"
    for stem in FILMS:
        _hollow(_one(opencv, stem), [module])
    _hollow(_one(opencv, "libaom"), [_one(opencv, "libavif")])
    _hollow(_one(heif, "libx265"), [_one(heif, "libheif")])
    _lead(_one(opencv, "libopenblasp"), module, _one(packages / "scipy.libs", "libscipy_openblas"))
    for stem in (*NEEDED_BY_FILMS, *NEEDED_BY_OPENBLAS):
        _one(opencv, stem).unlink()


def _one(folder: Path, stem: str) -> Path:
    found = list(folder.glob(f"{stem}[-.]*.so*"))
    if len(found) != 1:
        raise ShapeError(f"{folder.name} has {len(found)} of {stem}, not one")
    return found[0]


def _hollow(library: Path, askers: Sequence[Path]) -> None:
    wanted = _asked(library, askers)
    names = [name for each in wanted.values() for name in each]
    _build(library, {name: NONE if name in ANSWERED else END for name in names}, versions=wanted)


def _lead(library: Path, asker: Path, real: Path) -> None:
    """Each name that is asked for is a jump to the other library's of the same meaning."""
    names = _asked(library, [asker])[""]
    there = {name for _, name in _names(real, "--defined-only")}
    if lacking := [name for name in names if f"scipy_{name}" not in there]:
        raise ShapeError(f"{real.name} lacks {lacking}")
    flags = (str(real), f"-Wl,-rpath,$ORIGIN/../{real.parent.name}")
    _build(library, {name: f"jmp scipy_{name}@PLT" for name in names}, flags=flags)


def _asked(library: Path, askers: Sequence[Path]) -> dict[str, list[str]]:
    """What the askers want of a library, by version ("" for none)."""
    given = {name.replace("@@", "@") for kind, name in _names(library, "--defined-only") if kind != "A"}
    asked = {name for each in askers for _, name in _names(each, "--undefined-only")}
    found: dict[str, list[str]] = defaultdict(list)
    for each in sorted(given & asked):
        name, _, version = each.partition("@")
        found[version].append(name)
    if not found:
        raise ShapeError(f"nobody asks {library.name} for anything")
    return found


def _names(library: Path, which: str) -> list[tuple[str, str]]:
    command = ["nm", "--dynamic", which, "--with-symbol-versions", str(library)]
    lines = subprocess.run(command, check=True, capture_output=True, text=True).stdout.splitlines()
    return [(line.split()[-2], line.split()[-1]) for line in lines]


def _build(
    library: Path,
    bodies: dict[str, str],
    *,
    flags: Sequence[str] = (),
    versions: dict[str, list[str]] | None = None,
) -> None:
    code = "\n".join(f".globl {name}\n{name}:\n {body}" for name, body in bodies.items())
    script = "\n".join(
        f"{each} {{ global: {'; '.join(names)}; }};" for each, names in (versions or {}).items() if each
    )
    with tempfile.TemporaryDirectory() as folder:
        source, told, made = (Path(folder, name) for name in ("stand_in.s", "versions", "made.so"))
        source.write_text(f'.text\n{code}\n.section .note.GNU-stack,"",@progbits\n')
        told.write_text(script)
        command = [
            "g++",
            "-shared",
            "-s",
            "-nostartfiles",
            f"-Wl,-soname,{library.name}",
            str(source),
            *flags,
        ]
        if script:
            command.append(f"-Wl,--version-script={told}")
        subprocess.run([*command, "-o", str(made)], check=True)
        library.unlink()  # the same file may lie in a cache of packages
        library.write_bytes(made.read_bytes())


if __name__ == "__main__":
    main(Path(sys.argv[1]))
