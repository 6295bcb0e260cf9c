"""Puts the technician's own choices in force: look, type, hand, signals, figures."""

from logic.words.notation import Notation
from mobile.jobs import language
from mobile.jobs.own_choices import Look, OwnChoices
from mobile.ui import device, signals
from mobile.ui.theme import theme


def take_on(choices: OwnChoices) -> None:
    """Have the app as it was chosen; every widget follows at once."""
    take_look(choices.look)
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
