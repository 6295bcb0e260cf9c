import re
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

import pytest
from pypdf import PdfReader

from logic.choosing.wish import Load, Sun
from logic.errors import InputError
from logic.records.store.store import Store
from logic.vehicle.identity import Technician
from logic.vehicle.installation import Chemistry, Control, StatedBy
from mobile.jobs import choosing, form_entry
from mobile.jobs.choosing import Choosing
from mobile.jobs.set_up import SetUp
from mobile.jobs.set_up_pages import HOUSE_VOLTAGE
from mobile.jobs.workplace import Workplace
from tests.paths import CHECKLISTS

NOW = datetime(2026, 11, 27, 8, 30, tzinfo=UTC)


@pytest.fixture
def work(tmp_path: Path) -> Any:
    work = Workplace(tmp_path, CHECKLISTS, lambda: NOW)
    yield work
    work.close()


def vets_ute(store: Store) -> Choosing:
    asked = Choosing(store)
    entered = {
        "control": "variable",
        "alternator_a": "150",
        "capacity_ah": "200",
        "driving_h": "2",
        "panel_w": "120",
    }
    for path, text in entered.items():
        assert asked.put(path, text) == ""
    asked.add_load("fridge")
    asked.add_load()
    for name, text in (("name", "Lamps"), ("in", "W"), ("amount", "20"), ("hours", "5")):
        asked.put(f"load/1/{name}", text)
    return asked


def test_what_is_typed_is_read_as_a_wish(work: Any) -> None:
    wish = vets_ute(work.store).wish()
    assert wish.control is Control.VARIABLE
    assert (wish.alternator_a, wish.capacity_ah, wish.driving_h) == (150, 200, 2)
    assert wish.chemistry is Chemistry.AGM
    assert wish.sun is Sun.SPRING
    assert wish.loads == (
        Load(name="Fridge", current_a=4.0, hours=10.0),
        Load(name="Lamps", power_w=20.0, hours=5.0),
    )


# By hand: 4 A x 10 h + 20 W / 12 V x 5 h = 48.3 Ah.
def test_the_form_adds_the_loads_up_as_they_are_typed(work: Any) -> None:
    asked = vets_ute(work.store)
    assert asked.daily_words() == "In all 48 Ah a day."
    asked.put("load/0/hours", "1..")
    assert asked.daily_words() == ""
    assert Choosing(work.store).daily_words() == ""
    asked.clear()
    assert asked.daily_words() == ""


def test_nothing_typed_is_lost_when_the_app_dies(work: Any) -> None:
    before = vets_ute(work.store)
    before.put("run_length_m", "6.")
    again = Choosing(work.store)
    assert again.typed == before.typed
    assert len(again.loads) == 2


@pytest.mark.parametrize(
    ("path", "text", "words"),
    [
        ("alternator_a", "1..2", "two points"),
        ("alternator_a", "5", "from 20 to 1000 A"),
        ("capacity_ah", "99999", "from 10 to 5000 Ah"),
        ("driving_h", "25", "from 0 to 24 h"),
        ("driving_days", "2.5", "whole number of days"),
        ("run_length_m", "", "Needed"),
        ("load/0/amount", "", "Needed"),
        ("load/0/hours", "30", "from 0 to 24 h"),
    ],
)
def test_a_figure_that_cannot_be_is_told_and_kept_as_typed(
    work: Any, path: str, text: str, words: str
) -> None:
    asked = vets_ute(work.store)
    assert words in asked.put(path, text)
    assert Choosing(work.store).typed[path] == text
    assert asked.trouble()[0] == path
    with pytest.raises(InputError, match=re.escape(words)):
        asked.wish()


def test_without_any_load_it_says_that_one_is_needed(work: Any) -> None:
    asked = Choosing(work.store)
    assert asked.trouble() == (
        "loads",
        "Add at least one load: without any there is nothing to charge for.",
    )


def test_a_load_is_taken_off_and_the_others_stay(work: Any) -> None:
    asked = vets_ute(work.store)
    asked.remove_load(0)
    assert [load.name for load in asked.wish().loads] == ["Lamps"]
    asked.add_load("pump")
    assert [load.name for load in asked.wish().loads] == ["Lamps", "Water pump"]


# Half the current carries the same power at twice the voltage.
def test_a_usual_load_takes_half_the_current_at_twice_the_voltage(work: Any) -> None:
    asked = Choosing(work.store)
    asked.put("nominal_voltage_v", "24")
    asked.add_load("fridge")
    assert asked.wish().loads[0].current_a == 2.0


# By hand: the fridge's 4 A at 12 V are 4 A on the truck's 12 V house side too, and 40 Ah a day.
def test_a_usual_load_goes_by_the_house_sides_voltage(work: Any) -> None:
    asked = Choosing(work.store)
    asked.put("nominal_voltage_v", "24")
    asked.put("output_nominal_voltage_v", "12")
    asked.add_load("fridge")
    wish = asked.wish()
    assert (wish.nominal_voltage_v, wish.output_nominal_voltage_v) == (24, 12)
    assert wish.loads[0].current_a == 4.0
    asked.put("load/0/in", "W")
    asked.put("load/0/amount", "48")
    assert asked.daily_words() == "In all 40 Ah a day."
    asked.put("output_nominal_voltage_v", "")
    assert asked.daily_words() == "In all 20 Ah a day."
    assert asked.wish().output_nominal_voltage_v is None


def test_what_was_typed_and_saved_before_the_house_side_was_asked_for_still_stands(
    work: Any,
) -> None:
    asked = vets_ute(work.store)
    found = choosing.answer(asked)
    before = {path: text for path, text in asked.typed.items() if path != HOUSE_VOLTAGE}
    work.store.set_setting(choosing.CHOOSING, before)
    kept = {"id": "q1", "title": "Vet", "saved": "20 November 2026", "typed": before}
    work.store.set_setting(choosing.QUOTES, [kept])
    again = Choosing(work.store)
    assert choosing.answer(again) == found
    assert choosing.save_quote(work.store, again, found, NOW).quote_id == "q1"
    [quote] = choosing.quotes(work.store)
    choosing.take_up(work.store, quote)
    assert choosing.answer(Choosing(work.store)) == found


def test_playing_changes_the_answer_and_not_what_was_entered(work: Any) -> None:
    asked = vets_ute(work.store)
    entered = choosing.answer(asked)
    asked.play("driving_h", 0.0)
    asked.play("panel_w", 0.0)
    asked.keep()
    assert Choosing(work.store).is_played_with
    played = choosing.answer(asked)
    assert (entered.holds, played.holds) == (True, False)
    assert asked.typed["driving_h"] == "2"
    asked.back_to_entered()
    assert choosing.answer(asked) == entered


def test_a_figure_that_is_entered_anew_is_no_longer_played_with(work: Any) -> None:
    asked = vets_ute(work.store)
    asked.play("driving_h", 0.0)
    asked.put("driving_h", "3")
    assert asked.wish().driving_h == 3


def test_the_sliders_stand_where_the_advice_stands(work: Any) -> None:
    asked = vets_ute(work.store)
    found = choosing.answer(asked)
    at = {slider.path: slider for slider in asked.sliders(found)}
    assert at["driving_h"].value == 2
    assert at["capacity_ah"].value == 200
    assert at["rated_output_current_a"].value == found.rated_a
    assert all(slider.low <= slider.value <= slider.high for slider in at.values())


def test_a_quote_is_kept_once_taken_up_and_thrown_away(work: Any) -> None:
    asked = vets_ute(work.store)
    found = choosing.answer(asked)
    quote = choosing.save_quote(work.store, asked, found, NOW)
    assert choosing.save_quote(work.store, asked, found, NOW) == quote
    assert choosing.quotes(work.store) == (quote,)
    asked.clear()
    choosing.take_up(work.store, quote)
    assert choosing.answer(Choosing(work.store)) == found
    choosing.throw_away(work.store, quote)
    assert choosing.quotes(work.store) == ()


@pytest.mark.parametrize("house_side", ["", "24"])
def test_its_page_says_what_the_glass_says(work: Any, tmp_path: Path, house_side: str) -> None:
    from logic.choosing import words

    asked = vets_ute(work.store)
    asked.put(HOUSE_VOLTAGE, house_side)
    found = choosing.answer(asked)
    quote = choosing.save_quote(work.store, asked, found, NOW)
    own = Technician(name="R. Quill", workshop="Fernhollow Auto Electrical", phone="00 0000 0000")
    path = choosing.write_pdf(tmp_path, found, quote, own, NOW)
    pages = PdfReader(path).pages
    text = " ".join(" ".join(page.extract_text() for page in pages).split())
    assert len(pages) == 1
    for said in (words.headline(found), words.standing(found), words.balance(found)):
        assert said in text
    for label, row in (*words.answer_rows(found), *words.asked_rows(found.wish)):
        assert f"{label} {row}" in text
    for said in ("Fernhollow Auto Electrical", "27 November 2026", *found.remarks):
        assert said in text


def test_a_name_that_the_type_lacks_does_not_stop_the_page(work: Any, tmp_path: Path) -> None:
    asked = vets_ute(work.store)
    asked.put("load/0/name", "冷蔵庫 \u0000 👍" * 20)
    found = choosing.answer(asked)
    quote = choosing.save_quote(work.store, asked, found, NOW)
    path = choosing.write_pdf(tmp_path, found, quote, Technician(), NOW)
    assert path.read_bytes().startswith(b"%PDF")


def test_a_quote_becomes_a_new_vehicles_equipment(work: Any) -> None:
    found = choosing.answer(vets_ute(work.store))
    vehicle_id = choosing.new_vehicle(work, found)
    setup = SetUp.of(work, vehicle_id)
    setup.put("vehicle.registration", "vet 220")
    assert setup.finish() is None
    fitted = work.store.vehicle(vehicle_id).installation
    assert fitted.charger.rated_output_current_a == found.rated_a
    assert fitted.stated("charger.rated_output_current_a") is StatedBy.GUESS
    assert fitted.house_battery.capacity_ah == 200
    assert fitted.stated("house_battery.capacity_ah") is None
    assert fitted.runs.vehicle_feed.fuse_a == found.vehicle_fuse_a
    assert fitted.solar.rated_power_w == 120
    assert fitted.charger.absorption_voltage_v == 14.4
    assert fitted.stated("charger.absorption_voltage_v") is StatedBy.GUESS


# A profile is stated per 12 V: AGM's 14.4 V, twice that on a 24 V house side.
def test_a_quote_between_two_voltages_becomes_equipment_with_both(work: Any) -> None:
    asked = vets_ute(work.store)
    asked.put(HOUSE_VOLTAGE, "24")
    vehicle_id = choosing.new_vehicle(work, choosing.answer(asked))
    setup = SetUp.of(work, vehicle_id)
    setup.put("vehicle.registration", "vet 240")
    assert setup.finish() is None
    fitted = work.store.vehicle(vehicle_id).installation
    assert (fitted.nominal_voltage_v, fitted.output_nominal_voltage_v) == (12, 24)
    assert fitted.charger.absorption_voltage_v == 28.8


def test_an_alternator_that_is_not_known_is_still_asked_for(work: Any) -> None:
    asked = vets_ute(work.store)
    asked.put("control", "unknown")
    vehicle_id = choosing.new_vehicle(work, choosing.answer(asked))
    draft = SetUp.of(work, vehicle_id).draft
    assert not draft.get("alternator.control")
    assert form_entry.troubles(draft, ("charger.rated_output_current_a",)) == {}
