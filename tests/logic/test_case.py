import json

import pytest
from hypothesis import given
from hypothesis import strategies as st
from pydantic import ValidationError

import logic
from logic.case import Case
from logic.errors import InputError
from logic.vehicle.points import Point, State
from tests.contract import POINTS, STATES
from tests.diagnoses import diagnosis
from tests.installations import installations
from tests.paths import GOLDEN

LIBRARY_VAN = json.loads((GOLDEN / "library_van_case.json").read_text())


def changed(path, value):
    """Return the library van's case as JSON with one value changed."""
    data = json.loads(json.dumps(LIBRARY_VAN))
    *parents, last = path
    place = data
    for part in parents:
        place = place[part]
    place[last] = value
    return json.dumps(data)


def test_a_case_goes_out_and_comes_back_the_same():
    case = Case.from_json(json.dumps(LIBRARY_VAN))
    assert Case.from_json(case.model_dump_json()) == case


@given(installations())
def test_any_installation_goes_out_and_comes_back_the_same(installation):
    case = Case(installation=installation)
    assert Case.from_json(case.model_dump_json()) == case


def test_the_package_offers_the_case_itself():
    assert logic.Case is Case


def test_null_means_not_known_everywhere_the_contract_allows_it():
    data = json.loads(json.dumps(LIBRARY_VAN))
    data["baseline"] = None
    data["installation"]["start_battery"] = None
    data["installation"]["meter"] = None
    for run in data["installation"]["runs"].values():
        run.update(dict.fromkeys(("length_m", "area_mm2", "joints", "fuse_a")))
    assert Case.from_json(json.dumps(data)).baseline == ()


@pytest.mark.parametrize(
    ("path", "value", "words"),
    [
        (("installation", "nominal_voltage_v"), 13, "installation.nominal_voltage_v"),
        (("installation", "nominal_voltage_v"), "twelve", "12 or 24"),
        (
            ("installation", "alternator", "control"),
            "smart",
            "'fixed', 'variable', 'converter' or 'unknown'",
        ),
        (("installation", "house_battery", "chemistry"), "lead", "house_battery.chemistry"),
        (("installation", "start_battery", "chemistry"), "lifepo4", "start_battery.chemistry"),
        (("installation", "charger", "rated_output_current_a"), -25, "greater than 0"),
        (("installation", "charger", "efficiency"), 92, "less than or equal to 1"),
        (("installation", "charger", "ingress_protection"), "waterproof", "ingress_protection"),
        (("installation", "charger", "ratting"), 1, "ratting"),
        (("installation", "runs", "vehicle_feed", "length_m"), "4,5", "vehicle_feed.length_m"),
        (("installation", "runs", "vehicle_feed", "joints"), 2.5, "integer"),
        (("readings", 0, "point"), "battery", "readings.0.point"),
        (("readings", 0, "state"), "driving", "'rest', 'idle', 'fast_idle' or 'solar'"),
        (("readings", 0, "value"), "1o.2", "valid number"),
        (("readings", 0, "value"), 1e9, "less than or equal to 1000"),
        (("readings", 0, "value"), None, "readings.0.value"),
        (("readings", 0, "taken_at"), "2026-02-30T10:00:00Z", "taken_at"),
        (("readings",), {"point": "x"}, "readings"),
    ],
)
def test_a_broken_case_is_told_by_place_and_what_to_do(path, value, words):
    with pytest.raises(InputError, match=words) as caught:
        Case.from_json(changed(path, value))
    assert "Correct it and try again" in str(caught.value)
    assert caught.value.field == "case"


def test_what_was_added_after_0_1_0_may_be_left_out_null_or_given():
    data = json.loads(json.dumps(LIBRARY_VAN))
    fitted = data["installation"]
    plain = Case.from_json(json.dumps(data)).installation
    assert plain.runs.vehicle_feed.insulation_c is None
    start = {"chemistry": "agm", "capacity_ah": 80}
    fitted["start_battery"] = start | {"sensor_on_negative": None}
    fitted["runs"]["vehicle_feed"] |= {"insulation_c": None, "bundled_cables": None}
    fitted["fitted"] = {"output_voltage_sensing": None, "existing_wiring": None}
    nothing = Case.from_json(json.dumps(data)).installation
    assert nothing.start_battery.sensor_on_negative is None
    assert nothing.fitted.output_voltage_sensing is False
    # What says nothing is left out of the JSON: a record that 0.1.0 signed keeps its digest.
    written = nothing.model_dump_json()
    for name in ("sensor_on_negative", "insulation_c", "bundled_cables", "output_voltage_sensing"):
        assert name not in written
    fitted["start_battery"] = start | {"sensor_on_negative": True}
    fitted["runs"]["vehicle_feed"] |= {"insulation_c": 105, "bundled_cables": 2}
    given = Case.from_json(json.dumps(data)).installation
    assert given.start_battery.sensor_on_negative is True
    assert Case.from_json(json.dumps(data)).installation == given
    assert type(given).model_validate_json(given.model_dump_json()) == given


@pytest.mark.parametrize("text", ["", "{", "[]", "null", '{"readings": []}', "\x00", b"\xff\xfe"])
def test_what_is_no_case_at_all_is_told(text):
    with pytest.raises(InputError, match="Correct it and try again"):
        Case.from_json(text)


@pytest.mark.parametrize("value", ["NaN", "Infinity", "-Infinity"])
def test_a_reading_must_be_a_finite_number(value):
    text = json.dumps(LIBRARY_VAN).replace('"value": 12.31', f'"value": {value}')
    assert value in text
    with pytest.raises(InputError, match="readings"):
        Case.from_json(text)


def test_several_mistakes_are_counted():
    data = json.loads(json.dumps(LIBRARY_VAN))
    data["readings"][0]["state"] = "driving"
    data["readings"][1]["value"] = "x"
    with pytest.raises(InputError, match="1 more after it"):
        Case.from_json(json.dumps(data))


def test_the_pydantic_way_raises_pydantics_own_error():
    with pytest.raises(ValidationError):
        Case.model_validate_json("{}")


@given(st.text(max_size=40))
def test_any_text_is_a_case_or_refused_in_words(text):
    with pytest.raises(InputError):
        Case.from_json(text)


def test_the_contracts_words_are_all_there():
    assert {state.value for state in State} == set(STATES)
    assert {point.value for point in Point} >= set(POINTS)


@pytest.mark.parametrize(
    "place", ["runs", "runs.vehicle_feed", "alternator", "alternator.control", "fitted", "location"]
)
def test_a_whole_part_may_be_null(place):
    case = Case.from_json(changed(("installation", *place.split(".")), None))
    assert case.installation.charger.rated_output_current_a > 0


@pytest.mark.parametrize(
    ("unexplained", "findings", "place"),
    [
        (None, (0.9,), None),
        (0.05, (0.9, 0.02), None),
        (0.1, (0.7, 0.15, 0.05), 2),
        (0.4, (0.4, 0.1), 1),
        (0.41, (0.4, 0.1), 0),
        (0.09, (0.08, 0.08), 0),
        (0.99, (), 0),
    ],
)
def test_none_of_the_findings_stands_at_its_place_by_probability(unexplained, findings, place):
    weighed = [("house_fuse_open", likely) for likely in findings]
    found = diagnosis(*weighed, unexplained=unexplained)
    assert found.place_of_unexplained == place
    assert found.nothing_listed_leads is (place == 0)


def test_a_diagnosis_without_the_new_answers_is_written_as_release_0_1_0_wrote_it():
    written = json.loads(diagnosis(("house_fuse_open", 0.9)).model_dump_json())
    assert not {"unexplained", "unexplained_readings", "to_check"} & set(written)
    assert "hides" not in written["findings"][0]
