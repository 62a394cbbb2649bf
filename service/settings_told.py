"""The settings there are, as a person would write them."""

from __future__ import annotations

from dataclasses import dataclass

from pydantic import SecretStr

from service.settings import PREFIX, Settings


@dataclass(frozen=True)
class ToldSetting:
    """One setting, as a person would write it.

    Attributes:
        variable: its name in the environment.
        meaning: what it does, a sentence.
        value: what it is now; a secret only says that it is set.
        default: what it would be if nobody set it.
    """

    variable: str
    meaning: str
    value: str
    default: str

    @property
    def is_default(self) -> bool:
        """Whether it is as nobody set it."""
        return self.value == self.default


def told(settings: Settings) -> tuple[ToldSetting, ...]:
    """Every setting there is, in the order of their definition."""
    found = []
    for name, field in Settings.model_fields.items():
        meaning = (field.description or "").strip()
        meaning = f"{meaning[:1].upper()}{meaning[1:]}."
        value, default = _written(getattr(settings, name)), _written(field.default)
        found.append(ToldSetting(f"{PREFIX}{name.upper()}", meaning, value, default))
    return tuple(found)


def _written(value: object) -> str:
    match value:
        case None | "":
            return ""
        case SecretStr():
            return "(set, not shown)" if value.get_secret_value() else ""
        case bool():
            return "yes" if value else "no"
        case float():
            return f"{value:g}"
    return str(value)
