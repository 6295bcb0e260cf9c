"""What is fitted, in the words of a printed record."""

from logic.vehicle.installation import Installation
from logic.words.equipment import equipment, identity_in_brief, in_brief

FITTED = {
    "charger": {
        "rated_output_current_a": 40,
        "ingress_protection": "IP67",
        "absorption_voltage_v": 14.4,
    },
    "start_battery": {"chemistry": "agm", "capacity_ah": 80, "sensor_on_negative": True},
    "house_battery": {"chemistry": "lifepo4", "capacity_ah": 100, "location": "tray"},
    "runs": {
        "vehicle_feed": {
            "length_m": 5,
            "area_mm2": 16,
            "fuse_a": 70,
            "insulation_c": 105,
            "bundled_cables": 2,
        },
        "vehicle_return": {"bundled_cables": 1},
    },
    "fitted": {"output_voltage_sensing": True},
}
GUESSED = ("charger.ingress_protection", "charger.absorption_voltage_v", "runs.vehicle_feed.fuse_a")


def told(**also):
    groups = equipment(Installation.model_validate(FITTED | also))
    return {label: text for _, rows in groups for label, text in rows}


def test_sensor_insulation_bundling_and_the_batterys_place_are_told():
    rows = told()
    assert rows["Start battery"] == "AGM, 80 Ah; a current sensor on its negative post"
    assert rows["Vehicle feed"].endswith("fuse 70 A, 105 °C insulation, 2 cables together")
    assert rows["Vehicle return"].endswith("alone")
    assert rows["Also there"] == "output voltage sensing"


def test_a_guess_is_told_to_be_one_and_nothing_else_is():
    plain = told()
    assert not [text for text in plain.values() if "guess" in text]
    guessed = told(stated_by=dict.fromkeys(GUESSED, "guess"))
    assert guessed["Rated for"].startswith("IP67 (a guess); ")
    assert guessed["Profile"] == "absorption 14.4 V (a guess), float not known"
    assert "fuse 70 A (a guess)" in guessed["Vehicle feed"]
    assert guessed["Rated output"] == plain["Rated output"] == "40 A"


def test_a_trailers_plug_is_told_and_a_guess_at_it_too():
    assert "Trailer plug" not in told(location="trailer")
    plug = {"plug_rated_current_a": 40, "socket_dead_unhitched": True}
    rows = told(trailer=plug, stated_by={"trailer.plug_rated_current_a": "guess"})
    assert rows["Trailer plug"] == (
        "one contact carries 40 A (a guess); tow socket dead when unhitched"
    )
    assert "is not known" in told(trailer={})["Trailer plug"]


def test_an_installation_of_an_earlier_release_says_nothing_new():
    old = {
        **FITTED,
        "start_battery": {"chemistry": "agm", "capacity_ah": 80},
        "runs": {"vehicle_feed": {"length_m": 5, "area_mm2": 16}},
        "fitted": {},
    }
    groups = equipment(Installation.model_validate(old))
    text = " ".join(text for _, rows in groups for _, text in rows)
    assert not [word for word in ("sensor", "insulation", "together", "sens") if word in text]


IDENTITY = {
    "model": "Drover 40",
    "serial_number": "FH-0042-7",
    "fitted_by": "Fernhollow Auto Electrical",
    "warranty": "unit_and_work",
}


def test_which_unit_it_is_is_told_row_by_row_and_in_one_line():
    rows = told(charger=FITTED["charger"] | IDENTITY)
    assert rows["Model"] == "Drover 40"
    assert rows["Serial number"] == "FH-0042-7"
    assert rows["Fitted by"] == "Fernhollow Auto Electrical"
    assert rows["Under warranty"] == "unit (its maker) and work (the workshop)"
    fitted = Installation.model_validate(FITTED | {"charger": FITTED["charger"] | IDENTITY})
    assert identity_in_brief(fitted) == dict(in_brief(fitted))["Which unit"]
    assert "serial number FH-0042-7" in identity_in_brief(fitted)


def test_of_a_unit_that_nobody_described_nothing_is_said():
    fitted = Installation.model_validate(FITTED)
    assert identity_in_brief(fitted) == ""
    assert "Which unit" not in dict(in_brief(fitted))
    assert "Which unit it is" not in dict(equipment(fitted))
