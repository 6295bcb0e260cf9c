"""The catalogue's form, and what it says for every fault."""

import re
from pathlib import Path

import pytest

from logic.diagnosis import catalogue
from logic.diagnosis.hypotheses import single_hypotheses
from logic.diagnosis.unlisted import MISJUDGED
from logic.diagnosis.wording import checks_in_words
from logic.errors import DataFileError
from logic.vehicle.installation import Chemistry, Control, Installation, RepairedPart
from tests.contract import EQUIPMENT_FAULTS, FAULTS

TEXT = catalogue.FILE.read_text(encoding="utf-8")


def test_the_contracts_faults_are_all_there() -> None:
    assert {*FAULTS, *EQUIPMENT_FAULTS} <= set(catalogue.faults())
    assert len({*FAULTS, *EQUIPMENT_FAULTS}) == 32 + 6


@pytest.mark.parametrize("fault_id", catalogue.faults())
def test_every_fault_says_what_to_do_and_what_to_tell(fault_id: str) -> None:
    entry = catalogue.faults()[fault_id]
    assert entry.remedy
    assert entry.customer.endswith(".")
    assert entry.title[0].isupper()
    assert entry.source
    assert entry.nothing_is_wrong or catalogue.check_readings([fault_id])


@pytest.mark.parametrize(
    ("old", "new", "words"),
    [
        ('id = "solar_open"', 'id = "Solar open"', "fault Solar open, id"),
        ('responsibility = "vehicle"', 'responsibility = "nobody"', "responsibility"),
        ('unknown = "case_c"', 'unknown = "mood"', "no unknown called 'mood'"),
        ("shift = -0.6, spread", "shift = -0.6, times = 2.0, spread", "exactly one of"),
        ('id = "solar_open"', 'id = "solar_reversed"', "exactly once"),
        ("nothing_is_wrong = true", "nothing_is_wrong = false", "nothing_is_wrong = true"),
        ("equipment_is_sound = true", "", "equipment_is_sound = true beside it"),
        ("share_of_jobs = 0.15", "share_of_jobs = 0.95", "shares of jobs"),
        ("[[fault]]", "[[fault]", "Look at that line"),
    ],
)
def test_a_mistake_in_the_catalogue_is_named(
    old: str, new: str, words: str, tmp_path: Path
) -> None:
    with pytest.raises(DataFileError, match=r"faults\.toml") as caught:
        read(TEXT.replace(old, new, 1), tmp_path)
    assert words in str(caught.value)


def read(text: str, folder: Path) -> catalogue.Catalogue:
    file = folder / "faults.toml"
    file.write_text(text, encoding="utf-8")
    return catalogue.read(file)


def test_a_new_way_of_a_known_kind_is_one_data_entry(tmp_path: Path) -> None:
    change = '{ unknown = "panel_share", to = 0.4, spread = 0.5 }'
    more = f"{TEXT}\n[[fault.way]]\nweight = 0.1\nchange = [{change}]\n"
    ways = len(catalogue.catalogue().fault[-1].way)
    assert len(read(more, tmp_path).fault[-1].way) == ways + 1


def test_half_the_unwired_alternators_need_a_signal_when_nobody_looked() -> None:
    bare = {"charger": {"rated_output_current_a": 25}, "house_battery": {"chemistry": "gel"}}
    fixed = single_hypotheses(
        Installation.model_validate({**bare, "alternator": {"control": "fixed"}})
    )
    unknown = single_hypotheses(Installation.model_validate(bare))
    missing = ("ignition_signal_missing",)
    assert missing not in fixed.faults
    assert missing in unknown.faults


def test_a_fault_of_a_later_version_is_shown_in_words_and_has_every_part_proved() -> None:
    assert catalogue.title("third_unit_dead") == "Third unit dead"
    known = catalogue.known(["third_unit_dead", "solar_open"])
    assert known == (catalogue.faults()["solar_open"],)
    assert catalogue.check_readings(["third_unit_dead"]) == ()
    assert catalogue.parts_touched(["third_unit_dead"]) == set(RepairedPart)


@pytest.mark.parametrize("entry", catalogue.faults().values(), ids=lambda entry: entry.id)
def test_cautions_fit_the_house_batterys_chemistry(entry):
    about_house = {"house_battery", "profile", "house_feed"} & set(entry.parts)
    for chemistry in Chemistry:
        said = " ".join(entry.cautions_for(chemistry)).lower()
        if about_house:
            lithium = chemistry is Chemistry.LIFEPO4
            assert "hydrogen" not in said or not lithium
            assert "lithium" not in said or lithium or entry.needs.chemistry
    assert bool(entry.cautions) == bool(entry.cautions_for(Chemistry.AGM)) or entry.needs.chemistry


# What only an alternator has; a sentence about it says so at its beginning.
OF_AN_ALTERNATOR = re.compile(
    r"\b(engines?(?! bay)|alternators?|idl(e|es|ing)|crank(s|ing)?)\b", re.I
)


@pytest.mark.parametrize("entry", catalogue.faults().values(), ids=lambda entry: entry.id)
def test_what_a_converter_s_vehicle_may_have_is_said_without_an_engine(entry):
    if entry.needs.control and Control.CONVERTER not in entry.needs.control:
        return
    chemistries = entry.needs.chemistry or (Chemistry.LIFEPO4, Chemistry.FLOODED)
    cautions = [text for one in chemistries for text in entry.cautions_for(one)]
    said = [entry.title, entry.short, entry.customer, *entry.remedy, *cautions]
    meant = re.compile(r"(An|A variable) alternator: ")
    assert [one for one in said if OF_AN_ALTERNATOR.search(one) and not meant.match(one)] == []


def test_what_may_be_an_open_fuse_is_not_called_a_matter_of_warranty():
    second = catalogue.faults()["second_unit_dead"]
    assert {way.second_unit for way in second.way} >= {"dead", "unfed"}
    assert second.responsibility != "charger"
    assert "fuses" in second.remedy[0]
    assert "warranty" in second.remedy[-1]


def test_what_to_check_is_said_without_an_engine():
    kinds = {kind.what for kind in MISJUDGED}
    assert [one for one in checks_in_words(sorted(kinds)) if OF_AN_ALTERNATOR.search(one)] == []
