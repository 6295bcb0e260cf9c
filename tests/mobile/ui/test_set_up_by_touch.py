from pathlib import Path
from typing import Any, get_args

import pytest

from logic.records.events import Event, VehicleDescribed, new_id
from logic.records.store.store import Store
from logic.vehicle.identity import Vehicle
from logic.vehicle.installation import (
    Chemistry,
    HouseChemistry,
    Location,
    RepairedPart,
    StatedBy,
    Warranty,
)
from mobile.jobs.set_up_pages import CHOICE_WORDS
from mobile.ui.screens.equipment import BY_HAND
from tests.mobile.ui.pictures import keep_picture
from tests.mobile.ui.workshop import as_killed, field, turn_to, vehicle_row, write

CHEMISTRY_WORDS = tuple(CHOICE_WORDS[kind] for kind in get_args(HouseChemistry))

# A usual job: one tap a question.
USUAL = (
    "12 V",
    "40 A, sealed",
    "AGM, 100 Ah",
    "Ute tray, return by its own cable",
    "16 mm²",
    "105 °C, 1 or 2 together",
    "Set by the vehicle's computer, 150 A",
    "AGM, 80 Ah",
    "Yes",
    "No panel",
    "Ordinary multimeter and current clamp",
)


@pytest.fixture
def new_vehicle(phone: Any) -> Any:
    phone.tap("New vehicle")
    write(phone, "Registration plate", "fh 204")
    return phone


def say_key(finger: Any, keys: str) -> None:
    for key in keys:
        finger.tap("−" if key == "-" else key)


def type_number(finger: Any, label: str, keys: str) -> None:
    finger.tap(field(finger, label))
    say_key(finger, keys)
    finger.tap("Done")


def test_a_usual_vehicle_is_described_in_thirteen_taps(new_vehicle: Any) -> None:
    taps = ("Next: equipment", *USUAL, "Done")
    for words in taps:
        new_vehicle.tap(words)
    assert len(taps) <= 13
    store = new_vehicle.app.work.store
    fitted = store.vehicle(vehicle_row(store, "FH 204").vehicle_id).installation
    assert fitted.charger.rated_output_current_a == 40
    assert fitted.house_battery.chemistry is Chemistry.AGM
    assert fitted.location is Location.TRAY
    assert fitted.runs.vehicle_feed.area_mm2 == 16
    assert fitted.runs.house_return.insulation_c == 105
    assert fitted.start_battery.sensor_on_negative is True
    assert fitted.solar is None
    assert new_vehicle.sees("Design check")
    new_vehicle.tap("Start commissioning")
    assert new_vehicle.app.navigator.current == "stage"


def test_everything_but_charger_and_house_battery_may_stay_unknown(new_vehicle: Any) -> None:
    new_vehicle.tap("Next: equipment")
    page = new_vehicle.app.navigator.page
    while page.asking:
        wanted = {"Which charger?": "25 A, 12 V, sealed", "Which house battery?": "Gel, 100 Ah"}
        new_vehicle.tap(wanted.get(page.question, page.otherwise))
    new_vehicle.tap("Done")
    assert new_vehicle.app.navigator.current == "vehicle"


def test_done_too_early_says_what_is_still_needed(new_vehicle: Any) -> None:
    new_vehicle.tap("Next: equipment")
    new_vehicle.tap("Done")
    assert new_vehicle.app.navigator.current == "equipment"
    assert new_vehicle.sees("Needed")


def test_without_a_plate_the_way_on_is_barred_with_a_reason(phone: Any) -> None:
    phone.tap("New vehicle")
    phone.tap("Next: equipment")
    assert phone.app.navigator.current == "particulars"
    assert phone.sees("Needed")


@pytest.mark.parametrize(
    ("label", "keys", "words"),
    [
        ("Rated output", "1..2", "two points"),
        ("Rated output", ".", "No digits yet"),
        ("Rated output", "300", "At most 200 A"),
        ("Absorption voltage of the profile to be set", "14400", "Did you mean 14.4 V?"),
    ],
)
def test_bad_figures_are_told_beside_the_field_and_stay_as_typed(
    new_vehicle: Any, label: str, keys: str, words: str
) -> None:
    new_vehicle.tap("Next: equipment")
    new_vehicle.tap("Charger")
    type_number(new_vehicle, label, keys)
    typed = field(new_vehicle, label)
    assert words in typed.complaint
    assert new_vehicle.sees("Not known"), "Done leaves no figure behind that cannot be taken"
    new_vehicle.press_back()
    new_vehicle.rest(0.5)  # the sheet fades
    assert typed.text == keys
    assert new_vehicle.sees(typed.complaint)
    new_vehicle.tap("Done")
    assert any(words in (getattr(w, "second", "") or "") for w in new_vehicle.shown())
    new_vehicle.tap("Charger")
    assert field(new_vehicle, label).text == keys
    assert words in field(new_vehicle, label).complaint


def test_a_conductor_is_entered_as_it_is_sold_and_its_copper_is_shown(new_vehicle: Any) -> None:
    new_vehicle.tap("Next: equipment")
    new_vehicle.tap("Vehicle feed")
    new_vehicle.tap("AWG / B&S")
    new_vehicle.tap("6")
    # ASTM B258: 6 AWG is 13.30 mm²
    assert new_vehicle.sees("That is 13.3 mm² of copper.")
    new_vehicle.tap("Auto cable")
    new_vehicle.tap("6 mm")
    # common practice, no published source: about 4.6 mm² of copper
    assert new_vehicle.sees("That is 4.59 mm² of copper.")


def test_a_vin_is_checked_as_it_is_typed_and_a_check_digit_only_warns(new_vehicle: Any) -> None:
    new_vehicle.tap("Contact, VIN, odometer")
    write(new_vehicle, "VIN", "1m8gdm9axkp04278")
    assert "has 16" in field(new_vehicle, "VIN").complaint
    write(new_vehicle, "VIN", "9")
    assert field(new_vehicle, "VIN").complaint == ""
    assert "Check digit" in field(new_vehicle, "VIN").hint
    new_vehicle.tap("Next: equipment")
    assert new_vehicle.app.navigator.current == "equipment"


def test_a_plate_that_is_here_already_is_pointed_out(new_vehicle: Any) -> None:
    new_vehicle.tap("Next: equipment")
    new_vehicle.press_back()
    new_vehicle.tap("New vehicle")
    write(new_vehicle, "Registration plate", "FH 204")
    assert "in the list already" in field(new_vehicle, "Registration plate").hint


def test_a_vehicle_only_begun_can_be_thrown_away(new_vehicle: Any) -> None:
    new_vehicle.tap("Throw this away")
    assert new_vehicle.app.navigator.current == "home"
    new_vehicle.frames(4)
    assert new_vehicle.sees("No vehicle yet")


def test_a_phone_that_dies_in_the_middle_of_a_form_loses_no_letter(
    new_vehicle: Any, make_phone: Any, tmp_path: Path
) -> None:
    write(new_vehicle, "Description", "mobile libr")
    finger = make_phone(store=as_killed(new_vehicle, tmp_path))
    assert finger.sees("not finished")
    line = finger.find("FH 204")
    finger.tap(line.to_window(*line.center))
    assert field(finger, "Description").text == "mobile libr"


def test_half_a_figure_survives_a_dying_phone_too(
    new_vehicle: Any, make_phone: Any, tmp_path: Path
) -> None:
    new_vehicle.tap("Next: equipment")
    new_vehicle.tap("Charger")
    new_vehicle.tap(field(new_vehicle, "Rated output"))
    say_key(new_vehicle, "4.")
    finger = make_phone(store=as_killed(new_vehicle, tmp_path))
    vehicle_id = finger.app.work.store.find_vehicles()[0].vehicle_id
    finger.app.navigator.show("particulars", page_id="charger", vehicle_id=vehicle_id)
    finger.frames(3)
    assert field(finger, "Rated output").text == "4."


def test_own_details_and_own_meter_go_into_what_comes_next(phone: Any) -> None:
    assert phone.sees("Your workshop's name and phone")
    phone.tap("Menu")
    phone.tap("Name, licence, workshop")
    write(phone, "Your name", "Ines Marlow")
    write(phone, "Workshop", "Fernhollow Auto Electrical")
    write(phone, "Workshop's phone", "0000 00 00 00")
    phone.tap("Done")
    phone.tap("Meter and clamp")
    type_number(phone, "DC volts: accuracy, % of reading", "0.5")
    phone.tap("Done")
    phone.tap("Done")
    assert not phone.sees("Your workshop's name and phone"), "asked once"
    phone.tap("New vehicle")
    write(phone, "Registration plate", "A 1")
    phone.tap("Next: equipment")
    page = phone.app.navigator.page
    assert page.setup.draft["meter.voltage_accuracy_percent"] == "0.5"
    assert phone.app.work.store.setting("technician")["name"] == "Ines Marlow"
    assert phone.app.work.store.setting("technician")["phone"] == "0000 00 00 00"


def test_large_type_is_two_taps_from_the_first_screen_and_stays(
    make_phone: Any, phone: Any, tmp_path: Path
) -> None:
    from kivy.metrics import Metrics

    from mobile.ui.theme import theme

    try:
        phone.tap("Menu")
        phone.tap(phone.app.navigator.page.ids.large)
        assert Metrics.fontscale == 1.3
        theme.large = False
        assert Metrics.fontscale == 1.0
        make_phone()
        assert Metrics.fontscale == 1.3
    finally:
        theme.large = False


def test_a_long_list_is_read_in_parts_as_it_is_scrolled(make_phone: Any, tmp_path: Path) -> None:
    with Store.open(tmp_path / "store") as store:
        store.append_all(
            Event(
                vehicle_id=new_id(),
                body=VehicleDescribed(vehicle=Vehicle(registration=f"FH {number}")),
            )
            for number in range(150)
        )
    finger = make_phone()
    shown = finger.app.navigator.page.ids.list
    assert len(shown.data) == 60
    for expected in (120, 150, 150):
        shown.scroll_y = 0
        finger.frames(4)
        assert len(shown.data) == expected
        seen = {line.plate for line in shown.layout_manager.children}
        assert expected > 120 or shown.data[59]["plate"] in seen, "the list jumped"
    assert len({line["vehicle_id"] for line in shown.data}) == 150


def test_the_list_finds_a_vehicle_by_any_part_of_its_plate(phone: Any) -> None:
    phone.tap("New vehicle")
    write(phone, "Registration plate", "FH 204")
    phone.tap("Next: equipment")
    phone.press_back()
    write(phone, "", "h2")
    phone.until(lambda: phone.app.navigator.page.fragment == "h2")
    phone.until(lambda: phone.sees("FH 204"))
    write(phone, "", "x")
    phone.until(lambda: phone.sees("No vehicle fits"))


def test_an_error_names_its_field_and_a_tap_goes_there(new_vehicle: Any) -> None:
    new_vehicle.tap("Next: equipment")
    new_vehicle.tap("24 V")
    new_vehicle.tap("Done")
    trouble = new_vehicle.app.navigator.page.ids.trouble
    assert trouble.text.startswith("Charger, rated output: Needed")
    new_vehicle.tap(trouble)
    assert new_vehicle.app.navigator.page.title == "Charger"
    assert "Needed" in field(new_vehicle, "Rated output").complaint


def test_a_line_with_a_bad_figure_leads_to_that_figure(new_vehicle: Any) -> None:
    new_vehicle.tap("Next: equipment")
    new_vehicle.app.navigator.page.setup.put("runs.vehicle_feed.joints", "1.5")
    new_vehicle.app.navigator.page.refresh()
    new_vehicle.frames(4)
    assert new_vehicle.app.navigator.page.ids.known.children
    new_vehicle.tap("Vehicle feed")
    new_vehicle.rest(0.3)
    joints = field(new_vehicle, "Joints")
    assert "whole number" in joints.complaint
    body = new_vehicle.app.navigator.page.ids.body
    bottom = joints.to_window(*joints.pos)[1]
    assert body.to_window(*body.pos)[1] <= bottom < body.to_window(body.x, body.top)[1]


def test_a_length_that_no_vehicle_has_is_refused_while_it_is_typed(new_vehicle: Any) -> None:
    new_vehicle.tap("Next: equipment")
    new_vehicle.tap("Vehicle feed")
    for keys in ("250", "2..5"):
        new_vehicle.tap(field(new_vehicle, "Length"))
        say_key(new_vehicle, keys)
        assert field(new_vehicle, "Length").complaint
        new_vehicle.tap("Done")
        assert new_vehicle.sees("Not known"), "the keypad stays open"
        new_vehicle.tap("Not known")
    assert field(new_vehicle, "Length").text == ""


def test_none_of_these_opens_the_form_and_comes_back_to_the_next_question(
    new_vehicle: Any,
) -> None:
    new_vehicle.tap("Next: equipment")
    new_vehicle.tap("12 V")
    assert not new_vehicle.app.navigator.page.otherwise, "a charger is needed"
    new_vehicle.tap(BY_HAND)
    assert new_vehicle.app.navigator.page.title == "Charger"
    type_number(new_vehicle, "Rated output", "18")
    new_vehicle.tap("Done")
    assert new_vehicle.app.navigator.page.question == "Which house battery?"


def test_none_of_these_and_not_known_stay_where_they_are(new_vehicle: Any) -> None:
    new_vehicle.tap("Next: equipment")
    places: dict[str, set[tuple[int, ...]]] = {BY_HAND: set(), "Not known": set()}
    for answer in USUAL[:-1]:
        for words, at in places.items():
            if new_vehicle.sees(words):
                button = new_vehicle.find(words)
                at.add(tuple(round(x) for x in button.to_window(*button.center)))
        new_vehicle.tap(answer)
    assert all(len(at) == 1 for at in places.values()), places


# Absorption and float volts of the presets of each chemistry, whose sources stand beside them.
@pytest.mark.parametrize(
    ("system", "chemistry", "absorption", "to_float"),
    [("12 V", "Lithium", 14.4, 13.5), ("24 V", "Flooded", 28.8, 27.6)],
)
def test_a_battery_entered_by_hand_brings_its_usual_profile_as_a_guess(
    new_vehicle: Any, system: str, chemistry: str, absorption: float, to_float: float
) -> None:
    new_vehicle.tap("Next: equipment")
    new_vehicle.tap(system)
    page = new_vehicle.app.navigator.page
    new_vehicle.tap("Charger")
    type_number(new_vehicle, "Rated output", "20")
    new_vehicle.tap("Done")
    new_vehicle.tap(BY_HAND)
    words = next(w for w in CHEMISTRY_WORDS if w.startswith(chemistry))
    new_vehicle.tap(words)
    assert "as a guess" in field(new_vehicle, "Chemistry").hint
    new_vehicle.tap("Done")
    page.done()
    row = vehicle_row(new_vehicle.app.work.store, "FH 204")
    fitted = new_vehicle.app.work.store.vehicle(row.vehicle_id).installation
    assert fitted.charger.absorption_voltage_v == pytest.approx(absorption)
    assert fitted.charger.float_voltage_v == pytest.approx(to_float)
    assert fitted.stated("charger.float_voltage_v") is StatedBy.GUESS


def test_one_tap_says_how_a_figure_is_known_and_typing_takes_it_back(new_vehicle: Any) -> None:
    new_vehicle.tap("Next: equipment")
    new_vehicle.tap("Charger")
    type_number(new_vehicle, "Rated output", "20")
    setup = new_vehicle.app.navigator.page.owner
    stated = "stated_by/charger.rated_output_current_a"
    for tapped, expected in (("Plate", "plate"), ("Guess", "guess"), ("Guess", "")):
        new_vehicle.tap(tapped)
        assert setup.draft[stated] == expected
    new_vehicle.tap("Plate")
    type_number(new_vehicle, "Rated output", "40")
    assert setup.draft[stated] == ""
    assert field(new_vehicle, "Rated output").stated == ""


def test_once_all_is_asked_the_circuit_is_drawn_with_what_is_not_described_lit(
    new_vehicle: Any,
) -> None:
    new_vehicle.tap("Next: equipment")
    for answer in (*USUAL[:3], "Not known", *USUAL[4:]):
        assert not circuits(new_vehicle)
        new_vehicle.tap(answer)
    [circuit] = circuits(new_vehicle)
    assert circuit.picture.lit == {
        RepairedPart(f"{side}_{way}") for side in ("vehicle", "house") for way in ("feed", "return")
    }
    assert new_vehicle.sees("What is lit is not described yet.")


def circuits(finger: Any) -> list[Any]:
    return [widget for widget in finger.shown() if type(widget).__name__ == "CircuitView"]


def describe_unit(finger: Any) -> None:
    """Fill in which unit it is, from the vehicle's list of equipment."""
    for words in ("Next: equipment", *USUAL):
        finger.tap(words)
    finger.tap("Which unit it is")
    write(finger, "Serial number", "fh-0042-7")
    write(finger, "Model", "Drover 40")


def test_which_unit_it_is_is_asked_once_and_shown_at_a_callback(new_vehicle: Any) -> None:
    describe_unit(new_vehicle)
    write(new_vehicle, "Fitted by", "Fernhollow Auto Electrical")
    new_vehicle.tap("Unit only (its maker)")
    keep_picture(new_vehicle, "which_unit")
    new_vehicle.tap("Done")
    assert new_vehicle.sees("FH-0042-7, Drover 40, Fernhollow Auto Electrical")
    new_vehicle.app.navigator.page.ids.body.to_top()
    new_vehicle.tap(new_vehicle.app.navigator.page.ids.done)
    store = new_vehicle.app.work.store
    unit = store.vehicle(vehicle_row(store, "FH 204").vehicle_id).installation.charger
    assert (unit.serial_number, unit.model) == ("FH-0042-7", "Drover 40")
    assert unit.warranty is Warranty.UNIT
    new_vehicle.tap("Find a fault")
    told = new_vehicle.app.navigator.page.ids.unit
    assert "serial number FH-0042-7" in told.text
    new_vehicle.app.navigator.page.ids.body.scroll_to(told, animate=False)
    keep_picture(new_vehicle, "which_unit_at_a_callback")


@pytest.fixture
def plate(tmp_path: Path) -> Path:
    from PIL import Image

    Image.new("RGB", (400, 300), "silver").save(tmp_path / "plate.png")
    return tmp_path


def choose_plate(finger: Any, folder: Path) -> None:
    finger.tap("Take the photo")
    finger.app.root_window.children[0].folder = str(folder)
    finger.tap("plate.png")


def test_the_plate_is_photographed_and_the_photo_outlives_the_app(
    new_vehicle: Any, make_phone: Any, plate: Path
) -> None:
    describe_unit(new_vehicle)
    choose_plate(new_vehicle, plate)
    new_vehicle.until(lambda: new_vehicle.sees("Take another photo"))
    assert field(new_vehicle, "Photo of the plate").source
    keep_picture(new_vehicle, "photo_of_the_plate")
    phone = make_phone(store=as_killed(new_vehicle, plate))
    store = phone.app.work.store
    turn_to(phone, "vehicle", vehicle_id=vehicle_row(store, "FH 204").vehicle_id)
    unit = store.vehicle(vehicle_row(store, "FH 204").vehicle_id).installation.charger
    assert unit.serial_number == "FH-0042-7"
    assert store.photo_path(unit.plate_photo).exists()


def test_a_photo_that_comes_late_is_not_lost_with_the_screen(new_vehicle: Any, plate: Path) -> None:
    describe_unit(new_vehicle)
    choose_plate(new_vehicle, plate)
    new_vehicle.app.navigator.go_back()
    equipment = new_vehicle.app.navigator.page
    new_vehicle.until(lambda: equipment.setup.draft.get("charger.plate_photo"))
    equipment.done()
    store = new_vehicle.app.work.store
    unit = store.vehicle(vehicle_row(store, "FH 204").vehicle_id).installation.charger
    assert unit.plate_photo


def test_a_photo_of_the_plate_is_taken_away_again(new_vehicle: Any, plate: Path) -> None:
    describe_unit(new_vehicle)
    choose_plate(new_vehicle, plate)
    new_vehicle.until(lambda: new_vehicle.sees("Remove it"))
    new_vehicle.tap("Remove it")
    assert new_vehicle.app.navigator.page.owner.draft["charger.plate_photo"] == ""
    assert not field(new_vehicle, "Photo of the plate").source
