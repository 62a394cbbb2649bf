"""``python -m schema.release``: today's contracts become the released ones, which later ones must not break."""

from __future__ import annotations

from schema import export

RELEASED = export.SDL.parent / "released"
SDL, OPENAPI = RELEASED / export.SDL.name, RELEASED / export.OPENAPI.name


def main() -> None:
    """Keep both, as part of releasing a version."""
    RELEASED.mkdir(exist_ok=True)
    SDL.write_text(export.sdl(), encoding="utf-8")
    OPENAPI.write_text(export.openapi(), encoding="utf-8")


if __name__ == "__main__":
    main()
