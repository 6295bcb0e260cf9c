"""Puts the technician's own choices in force: look, type, hand, signals, figures."""

from typing import Any

from kivy.clock import Clock

from logic.words.notation import Notation
from mobile.jobs import language
from mobile.jobs.look_by_light import LookByLight
from mobile.jobs.own_choices import Look, OwnChoices
from mobile.ui import device, light_sensor, signals
from mobile.ui.theme import theme


def take_on(choices: OwnChoices) -> None:
    """Have the app as it was chosen; every widget follows at once."""
    take_look(choices.look)
    _follow_light(choices.by_light)
    theme.large = choices.large_type
    theme.left_handed = choices.left_handed
    theme.notation = Notation(
        fahrenheit=choices.fahrenheit,
        decimal_comma=choices.decimal_comma,
        gauge_first=choices.gauge_first,
    )
    language.speak(choices.language)
    theme.language = choices.language.value
    signals.wanted = choices.signals


def take_look(look: Look) -> None:
    """Have the look that was chosen, which may be the phone's own."""
    theme.dark = device.is_night() if look is Look.AS_PHONE else look is Look.DARK


def rest() -> None:
    """Let go of the light sensor: another app is in front. :func:`take_on` follows it again."""
    light_sensor.end()
    while _following:
        _following.pop().cancel()


# What looks whether the light has stayed: the sensor says nothing while it does not change.
_following: list[Any] = []
_LOOKS_EVERY = 1.0  # seconds


def _follow_light(is_wanted: bool) -> None:
    rest()
    if not is_wanted:
        return
    by_light = LookByLight()

    def turn(*_: object) -> None:
        if look := by_light.due(Clock.time()):
            take_look(look)

    def told(light: float) -> None:
        by_light.seen(light, Clock.time())
        turn()

    light_sensor.begin(told)
    _following.append(Clock.schedule_interval(turn, _LOOKS_EVERY))
