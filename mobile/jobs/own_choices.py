"""How the technician wants this phone's app to be: the one home of these choices. No Kivy.

They are the phone's own. Nothing of them is in a record, on paper or in a file for other phones.
"""

from dataclasses import dataclass, fields
from enum import StrEnum
from typing import Any, Protocol

from mobile.jobs.language import Language


class Look(StrEnum):
    """Which look the screens have."""

    AS_PHONE = "as_phone"
    LIGHT = "light"
    DARK = "dark"

    @property
    def words(self) -> str:
        """Its name on a button."""
        return _LOOKS[self]


_LOOKS = {
    Look.AS_PHONE: "As the phone",
    Look.LIGHT: "Light, for the sun",
    Look.DARK: "Dark, for the night",
}


@dataclass(frozen=True)
class OwnChoices:
    """Every choice, as it is where nothing was chosen yet.

    ``by_light``: the light sensor turns the look. ``signals``: a reading out of range is felt and
    heard. ``left_handed``: the phone is held in the left hand. ``fahrenheit`` and
    ``decimal_comma``: how figures are shown and typed; ``gauge_first``: wire sizes by gauge before
    mm². What is stored is in °C and mm² all the same.
    """

    look: Look = Look.AS_PHONE
    by_light: bool = False
    language: Language = Language.ENGLISH
    large_type: bool = False
    signals: bool = True
    left_handed: bool = False
    fahrenheit: bool = False
    decimal_comma: bool = False
    gauge_first: bool = False


Choice = Look | Language | bool


class Settings(Protocol):
    """What keeps them: the store or its file."""

    def setting(self, name: str, default: Any = None) -> Any: ...

    def set_setting(self, name: str, value: Any) -> None: ...


def chosen(settings: Settings) -> OwnChoices:
    """Read the choices kept on this phone; one that cannot be read is as if never made."""
    kept = {
        one.name: value
        for one in fields(OwnChoices)
        if one.type is bool and isinstance(value := settings.setting(one.name), bool)
    }
    return OwnChoices(look=_look(settings), language=_language(settings), **kept)


def keep(settings: Settings, name: str, value: Choice) -> OwnChoices:
    """Keep one choice and return them all."""
    settings.set_setting(name, value.value if isinstance(value, StrEnum) else value)
    return chosen(settings)


def _language(settings: Settings) -> Language:
    kept = settings.setting("language")
    return Language(kept) if kept in list(Language) else OwnChoices.language


def _look(settings: Settings) -> Look:
    try:
        return Look(settings.setting("look"))
    except ValueError:
        # Before there was a look there was a switch for the dark screen.
        was_dark = settings.setting("dark")
        return OwnChoices.look if was_dark is None else Look.DARK if was_dark else Look.LIGHT
