"""From a form's field to the widget it is filled in with, and back to its text."""

from logic.vehicle.installation import StatedAs
from logic.words.notation import FAHRENHEIT, celsius_text, fahrenheit_text
from mobile.jobs.field_limits import SOLAR_FITTED, limits_of
from mobile.jobs.form_entry import Draft, stated_by, ways_to_know
from mobile.jobs.set_up_pages import HOUSE_VOLTAGE, STATED_WORDS, FormLine, choice_words
from mobile.ui.theme import theme
from mobile.ui.widgets.fields import (
    ChoiceField,
    FormField,
    NumberField,
    PhotoField,
    SwitchField,
    TextField,
)

Options = list[tuple[str, str]]

# The gauges that vehicle wiring is sold in; any other is typed as its area in mm².
_GAUGES = ("14", "12", "10", "8", "6", "4", "3", "2", "1", "1/0", "2/0", "3/0", "4/0")
_NEVER_EMPTY = ("nominal_voltage_v", "house_battery.chemistry")
_CAPITALS = (
    "vehicle.registration",
    "vehicle.vin",
    "charger.ingress_protection",
    "charger.serial_number",
)
_LONG = ("charger.profile_note",)


def field_widget(field: FormLine, draft: Draft) -> FormField:
    """Return the widget for a field, showing what the draft holds."""
    text = draft.get(field.path, "")
    if field.path.endswith(".stated_as"):
        ways = sorted(StatedAs, key=lambda way: _is_first(way is StatedAs.AWG))
        options = [(str(way), choice_words(way)) for way in ways]
        return _choice(field, options, text or StatedAs.SQUARE_MILLIMETRES, 3)
    if field.path.endswith(".size"):
        return _size(field, draft, text)
    limits = limits_of(field.path)
    if limits.kind == "yes_no":
        return SwitchField(label=field.label, hint=field.help_text, active=text == "yes")
    if limits.kind == "photo":
        return PhotoField(label=field.label, hint=field.help_text, text=text)
    if limits.kind == "choice":
        return _choice(field, _options(field.path), text, columns_for(_options(field.path)))
    if limits.kind == "text":
        return TextField(
            label=field.label,
            hint=field.help_text,
            text=text,
            lines=2 if field.path in _LONG else 1,
            capitals=field.path in _CAPITALS,
        )
    signed = limits.more_than is None and (limits.at_least is None or limits.at_least < 0)
    return _number(field, draft, limits.unit, signed=signed)


def _number(field: FormLine, draft: Draft, unit: str, *, signed: bool = False) -> NumberField:
    text = draft.get(field.path, "")
    if theme.notation.turns(unit):
        unit, text = FAHRENHEIT, fahrenheit_text(text)
    ways = [(str(way), STATED_WORDS[way]) for way in ways_to_know(field.path)]
    return NumberField(
        label=field.label,
        hint=field.help_text,
        text=text,
        unit=unit,
        signed=signed,
        ways=ways,
        stated=str(stated_by(draft, field.path) or ""),
    )


def content(widget: FormField) -> str:
    """Return what stands in a widget, as a draft keeps it."""
    if isinstance(widget, SwitchField):
        return "yes" if widget.active else "no"
    if isinstance(widget, NumberField) and widget.unit == FAHRENHEIT:
        return celsius_text(widget.text)
    return str(widget.value if isinstance(widget, ChoiceField) else widget.text)


def columns_for(options: Options) -> int:
    """Say how many chips stand in a row: one where the words are long."""
    return 1 if max((len(words) for _, words in options), default=0) > 36 else 2


def _choice(field: FormLine, options: Options, value: str, columns: int = 2) -> ChoiceField:
    return ChoiceField(
        label=field.label,
        hint=field.help_text,
        options=options,
        value=str(value),
        columns=columns,
    )


def _options(path: str) -> Options:
    options = [(choice, choice_words(choice)) for choice in limits_of(path).choices]
    has_own_unknown = any(choice == "unknown" for choice, _ in options)
    return (
        options
        if path in _NEVER_EMPTY or has_own_unknown
        else [*options, ("", choice_words("", path))]
    )


def _size(field: FormLine, draft: Draft, text: str) -> FormField:
    stated_as = draft.get(field.path.replace(".size", ".stated_as")) or "mm2"
    if stated_as == StatedAs.AWG:
        gauges = [(gauge, gauge) for gauge in _GAUGES]
        return _choice(field, [*gauges, ("", choice_words(""))], text, 3)
    if stated_as == StatedAs.AUTO_CABLE:
        sizes = [(f"{size:g}", f"{size:g} mm") for size in _auto_cable_sizes()]
        return _choice(field, [*sizes, ("", choice_words(""))], text, 3)
    return _number(field, draft, "mm²")


def usual_first(answers: Options) -> Options:
    """Return ready answers in the reader's order: gauges before mm² for who asks for them so."""
    return sorted(answers, key=lambda answer: _is_first("AWG" in answer[1]))


def _is_first(is_gauge: bool) -> bool:
    # False sorts before True, and what is equal stays in its order.
    return theme.notation.gauge_first and not is_gauge


def _auto_cable_sizes() -> tuple[float, ...]:
    from logic.circuit import tables

    return tuple(size for size, _ in tables.row("conductors", "auto_cable.area").points)


# A switch and a conductor's way of being stated decide which fields stand below them; the house
# side's voltage what a guessed profile says there.
REDRAWS = (SOLAR_FITTED, ".stated_as", HOUSE_VOLTAGE)
