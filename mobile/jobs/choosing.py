"""Advice before the sale, as it is asked for and played with. No Kivy.

What is typed is on disk at every change, under the settings; so is every quote that was saved. A
number that cannot be taken is told beside its field, and the advice waits for it.
"""

import re
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING, Any, get_args

from logic.checklist.presets import Group
from logic.choosing import figures
from logic.choosing.advice import Advice, advise, ratings_sold
from logic.choosing.fitted_out import installation_of
from logic.choosing.wish import Load, Sun, Wish
from logic.choosing.words import SUNS, headline
from logic.errors import InputError
from logic.records.events import new_id
from logic.records.store.kept_files import QUOTES as FOLDER
from logic.vehicle.identity import Technician
from logic.vehicle.installation import Chemistry, Control, HouseChemistry
from logic.words.dates import day
from logic.words.entry import parse_quantity
from logic.words.figures import number
from logic.words.names import CHEMISTRIES, capitalised
from mobile.jobs import form_entry
from mobile.jobs.set_up import SetUp
from mobile.jobs.set_up_pages import HOUSE_VOLTAGE, choice_words
from mobile.jobs.under_way import DRAFTS, unfinished_set_ups

if TYPE_CHECKING:
    from logic.records.store.store import Store
    from mobile.jobs.workplace import Workplace

CHOOSING = "choosing"
QUOTES = "quotes"
_MOST_LOADS = 8

Typed = Mapping[str, str]


@dataclass(frozen=True)
class Field:
    """One number of the form: its label, its unit, and the least and the most that can be.

    ``empty`` is what an empty field means in words, "" where it may not be empty.
    """

    path: str
    label: str
    unit: str
    low: float
    high: float
    empty: str = ""
    help_text: str = ""


ALTERNATOR = Field(
    "alternator_a", "Rating of the alternator or supply", "A", 20, 1000, "not known", "On its plate"
)
CAPACITY = Field("capacity_ah", "Capacity", "Ah", 10, 5000, "advise me")
DRIVING = Field("driving_h", "Driving on such a day", "h", 0, 24, "none", "Idling does not count")
DAYS = Field("driving_days", "Days a week that it is driven", "days", 0, 7, "7")
PANEL = Field("panel_w", "Solar panel", "W", 0, 5000, "no panel")
RUN = Field(
    "run_length_m", "Start battery to the charger", "m", 0.3, 50, "", "One way, along the cable"
)
NUMBERS = (ALTERNATOR, CAPACITY, DRIVING, DAYS, PANEL, RUN)

CHOICES: dict[str, tuple[tuple[str, str], ...]] = {
    "nominal_voltage_v": (("12", "12 V"), ("24", "24 V")),
    HOUSE_VOLTAGE: (("", choice_words("", HOUSE_VOLTAGE)), ("12", "12 V"), ("24", "24 V")),
    "control": (
        (Control.FIXED.value, "Fixed voltage"),
        (Control.VARIABLE.value, "Variable (computer)"),
        (Control.CONVERTER.value, "DC-DC supply (hybrid, electric)"),
        (Control.UNKNOWN.value, "Not known"),
    ),
    "chemistry": tuple(
        (str(kind), capitalised(CHEMISTRIES[kind])) for kind in get_args(HouseChemistry)
    ),
    "sun": tuple(
        (sun.value, f"{capitalised(words)}, {number(sun.peak_hours)}\u00a0h")
        for sun, words in SUNS.items()
    ),
}
_BEGUN = {
    "nominal_voltage_v": "12",
    HOUSE_VOLTAGE: "",
    "control": Control.UNKNOWN.value,
    "chemistry": Chemistry.AGM.value,
    "sun": Sun.SPRING.value,
    "driving_h": "1",
    "driving_days": "7",
    "run_length_m": "5",
}

USUAL_LOADS = (
    ("fridge", "Fridge"),
    ("lights", "Lights"),
    ("pump", "Water pump"),
    ("devices", "Phones, radio"),
    ("", "Something else"),
)


@dataclass(frozen=True)
class LoadFields:
    """The fields of one load, by its place in the list."""

    place: int
    name: str
    amount: Field
    hours: Field
    in_watts: str


@dataclass(frozen=True)
class Slider:
    """One figure to play with: from ``low`` to ``high`` in steps, and where it stands."""

    path: str
    label: str
    low: float
    high: float
    step: float
    value: float
    unit: str

    def words(self, value: float) -> str:
        """Say a value of it."""
        unit = f" {self.unit}" if self.unit else ""
        return f"{number(round(value, 2))}{unit}"


@dataclass(frozen=True)
class Quote:
    """A quote that was saved: what was typed, and how to name it in a list."""

    quote_id: str
    title: str
    saved: str
    typed: Mapping[str, str]


class Choosing:
    """The form as it stands, and what is played with on top of it.

    ``typed`` maps a path to its text; loads are ``load/<place>/<name>``, what was moved by a
    slider ``if/<path>``.
    """

    def __init__(self, store: "Store") -> None:
        self._store = store
        self.typed: dict[str, str] = _BEGUN | dict(store.setting(CHOOSING, {}))

    def put(self, path: str, text: str) -> str:
        """Take what was typed or chosen, keep it on disk, and return the complaint or ""."""
        self.typed[path] = text
        # A figure that is entered anew is no longer played with.
        self.typed.pop(f"if/{path}", None)
        self.keep()
        return self.complaint(path)

    def play(self, path: str, value: float) -> None:
        """Take a slider's value; what was entered stays under it. :meth:`keep` puts it on disk."""
        self.typed[f"if/{path}"] = f"{value:.6g}"

    def back_to_entered(self) -> None:
        """Take back everything that was played with."""
        self.typed = {path: text for path, text in self.typed.items() if not path.startswith("if/")}
        self.keep()

    def clear(self) -> None:
        """Begin anew."""
        self.typed = dict(_BEGUN)
        self.keep()

    @property
    def is_played_with(self) -> bool:
        """Whether a slider was moved."""
        return any(path.startswith("if/") for path in self.typed)

    def keep(self) -> None:
        """Put on disk what stands now."""
        self._store.set_setting(CHOOSING, self.typed)

    # Loads

    @property
    def loads(self) -> tuple[LoadFields, ...]:
        """The fields of each load there is."""
        return tuple(_load_fields(place, self.typed) for place in self._places())

    @property
    def may_add(self) -> bool:
        """Whether the list has room for another load."""
        return len(self._places()) < _MOST_LOADS

    def daily_words(self) -> str:
        """Say what all loads take in a day, "" while one of them cannot be read."""
        try:
            loads = [self._load(fields) for fields in self.loads]
        except InputError:
            return ""
        daily_ah = sum(load.daily_ah(self._house_volts) for load in loads)
        return f"In all {number(daily_ah, 0)} Ah a day." if loads else ""

    def add_load(self, usual: str = "") -> None:
        """Add a load, with the usual figures of one of ``USUAL_LOADS`` filled in."""
        place = max(self._places(), default=-1) + 1
        filled = {"name": "", "amount": "", "hours": "", "in": "A"}
        if usual:
            filled["name"] = dict(USUAL_LOADS)[usual]
            current = figures.number(f"load_current.{usual}")
            filled["amount"] = number(current * 12 / self._house_volts)
            filled["hours"] = number(figures.number(f"load_hours.{usual}"))
        self.typed |= {f"load/{place}/{name}": text for name, text in filled.items()}
        self.keep()

    def remove_load(self, place: int) -> None:
        """Take a load off the list."""
        begin = f"load/{place}/"
        self.typed = {path: text for path, text in self.typed.items() if not path.startswith(begin)}
        self.keep()

    @property
    def _house_volts(self) -> int:
        """The nominal voltage that the loads live on."""
        return int(self.typed[HOUSE_VOLTAGE] or self.typed["nominal_voltage_v"])

    def _places(self) -> list[int]:
        found = (re.fullmatch(r"load/(\d+)/in", path) for path in self.typed)
        return sorted(int(one[1]) for one in found if one)

    # What is asked for

    def complaint(self, path: str) -> str:
        """Say what is wrong with a field's text and what to do, or ""."""
        field = next((one for one in self._numbers() if one.path == path), None)
        if field is None:
            return ""
        try:
            self._number(field)
        except InputError as error:
            return str(error)
        return ""

    def trouble(self) -> tuple[str, str]:
        """Return the first field that cannot be taken, with what to do; "" and "" for none."""
        for field in self._numbers():
            if text := self.complaint(field.path):
                return field.path, f"{field.label}: {text}"
        if not self._places():
            return "loads", "Add at least one load: without any there is nothing to charge for."
        return "", ""

    def wish(self) -> Wish:
        """Read the whole form, with what is played with on top.

        Raises
        ------
        InputError
            With ``field`` the path of the first field that cannot be taken.
        """
        path, text = self.trouble()
        if text:
            raise InputError(text, path)
        entered: dict[str, Any] = {name: self.typed[name] for name in CHOICES}
        entered["nominal_voltage_v"] = int(entered["nominal_voltage_v"])
        entered[HOUSE_VOLTAGE] = int(entered[HOUSE_VOLTAGE]) if entered[HOUSE_VOLTAGE] else None
        numbers = {field.path: self._number(field) for field in NUMBERS}
        entered |= {name: value for name, value in numbers.items() if value is not None}
        entered.setdefault("driving_h", 0.0)
        entered["driving_days"] = int(entered.get("driving_days", 7))
        entered["loads"] = tuple(self._load(fields) for fields in self.loads)
        played = {
            path.removeprefix("if/"): float(text)
            for path, text in self.typed.items()
            if path.startswith("if/")
        }
        return Wish.model_validate(entered | played)

    def sliders(self, advice: Advice) -> tuple[Slider, ...]:
        """Return what can be played with, each where it stands."""
        wish = advice.wish
        sold = ratings_sold(wish)
        hours, watts, ah, amperes = wish.driving_h, wish.panel_w, advice.capacity_ah, advice.rated_a
        return (
            Slider("driving_h", "Driving a day", 0, max(12, hours), 0.5, hours, "h"),
            Slider("panel_w", "Solar panel", 0, max(600, watts), 20, watts, "W"),
            Slider("load_factor", "Loads, times", 0, 3, 0.1, wish.load_factor, ""),
            Slider("capacity_ah", "House battery", min(40, ah), max(600, ah), 10, ah, "Ah"),
            Slider(
                "rated_output_current_a",
                "Charger",
                min(sold[0], amperes),
                max(sold[-1], amperes),
                5,
                amperes,
                "A",
            ),
        )

    def _numbers(self) -> tuple[Field, ...]:
        of_loads = (field for load in self.loads for field in (load.amount, load.hours))
        return (*NUMBERS, *of_loads)

    def _number(self, field: Field) -> float | None:
        text = self.typed.get(field.path, "").strip()
        if not text:
            if field.empty:
                return None
            raise InputError("Needed: type the number.", field.path)
        value = parse_quantity(text, field.unit, field.low, field.high, field.path)
        if field is DAYS and not value.is_integer():
            raise InputError("A whole number of days: leave the point out.", field.path)
        return value

    def _load(self, fields: LoadFields) -> Load:
        amount, hours = self._number(fields.amount), self._number(fields.hours)
        in_watts = fields.in_watts == "W"
        return Load(
            name=self.typed.get(fields.name, "").strip()[:40],
            current_a=None if in_watts else amount,
            power_w=amount if in_watts else None,
            hours=hours or 0.0,
        )


def _load_fields(place: int, typed: Typed) -> LoadFields:
    path = f"load/{place}"
    in_watts = typed.get(f"{path}/in", "A")
    called = typed.get(f"{path}/name", "").strip() or f"Load {place + 1}"
    most = 5000.0 if in_watts == "W" else 500.0
    return LoadFields(
        place,
        f"{path}/name",
        Field(f"{path}/amount", f"{called}: takes", in_watts, 0, most),
        Field(f"{path}/hours", f"{called}: hours a day", "h", 0, 24),
        in_watts,
    )


# What becomes of an advice


def quotes(store: "Store") -> tuple[Quote, ...]:
    """List the quotes that were saved, the latest first."""
    kept = store.setting(QUOTES, [])
    return tuple(
        Quote(str(one["id"]), str(one["title"]), str(one["saved"]), dict(one["typed"]))
        for one in reversed(kept)
    )


def save_quote(store: "Store", choosing: Choosing, advice: Advice, now: datetime) -> Quote:
    """Keep what was asked for, so that it can be taken up again; one that is kept stays one."""
    kept = list(store.setting(QUOTES, []))
    # What was saved before a choice was asked for stands as that choice begins.
    same = next((one for one in kept if _BEGUN | one["typed"] == choosing.typed), None)
    if same is None:
        same = {
            "id": new_id(),
            "title": headline(advice),
            "saved": day(now),
            "typed": dict(choosing.typed),
        }
        store.set_setting(QUOTES, [*kept, same])
    return Quote(same["id"], same["title"], same["saved"], same["typed"])


def take_up(store: "Store", quote: Quote) -> None:
    """Make a saved quote the form as it stands."""
    store.set_setting(CHOOSING, dict(quote.typed))


def throw_away(store: "Store", quote: Quote) -> None:
    """Forget a saved quote; a vehicle that it became stays."""
    kept = [one for one in store.setting(QUOTES, []) if one["id"] != quote.quote_id]
    store.set_setting(QUOTES, kept)


def pdf_path(folder: Path, quote: Quote) -> Path:
    """Say where a quote's page lies."""
    words = re.sub(r"[^A-Za-z0-9]+", "-", quote.title).strip("-")
    return folder / FOLDER / f"quote {words} {quote.quote_id[:8]}.pdf"


def write_pdf(folder: Path, advice: Advice, quote: Quote, own: Technician, now: datetime) -> Path:
    """Write a quote's page and return its path; slow, and safe off the store's thread."""
    from logic.records.paper.quote import write_quote
    from mobile import __version__

    path = pdf_path(folder, quote)
    path.parent.mkdir(parents=True, exist_ok=True)
    write_quote(advice, own, now, __version__, path)
    return path


def new_vehicle(work: "Workplace", advice: Advice) -> str:
    """Begin a new vehicle's set-up with an advice as its equipment, and return the vehicle's id."""
    vehicle_id = new_id()
    fresh = SetUp.of(work, vehicle_id).draft
    draft = fresh | form_entry.draft_of(installation_of(advice))
    if advice.wish.control is Control.UNKNOWN:
        draft.pop("alternator.control", None)  # so that the set-up asks for it
    presets = work.library.presets[Group.HOUSE_BATTERIES]
    drafts = unfinished_set_ups(work.store)
    drafts[vehicle_id] = form_entry.with_usual_profile(draft, presets)
    work.store.set_setting(DRAFTS, drafts)
    return vehicle_id


def answer(choosing: Choosing) -> Advice:
    """Answer the form as it stands; raises ``InputError`` as :meth:`Choosing.wish` does."""
    return advise(choosing.wish())
