import json

import pytest


def test_list_shows_plates_states_and_ids(run):
    lines = run("list").output.splitlines()
    assert lines[0].split() == ["plate", "last", "work", "state", "id", "vehicle"]
    said = {line[:7]: line for line in lines[1:]}
    assert "commissioning open" in said["BEE 338"]
    assert "signed" in said["LIB 042"]


def test_list_says_when_there_are_more(run):
    result = run("list", "--limit", "1")
    assert "The first 1 of 3" in result.stderr


def test_find_takes_any_part_and_writes_json(run):
    (found,) = json.loads(run("find", "lib-04", "--json").output)
    assert found["registration"] == "LIB 042"
    assert found["state"] == "signed"


def test_show_says_what_is_fitted_and_what_was_signed(run):
    said = run("show", "LIB 042").output
    assert "25 A" in said
    assert "Bookmobile trust" in said
    assert "revision 1, signed 2 March 2026, 08:50 (UTC+00:00)" in said
    assert "12.6 V" in said


def test_show_of_an_unsigned_job_says_the_answers_so_far(run):
    said = run("show", "bee").output
    assert "not signed" in said
    assert "12.71" in said


def test_a_vehicle_may_be_named_by_the_id_that_list_shows(run):
    (found,) = json.loads(run("find", "LIB 042", "--json").output)
    assert "LIB 042" in run("show", found["vehicle_id"][:12]).output


@pytest.mark.parametrize("called", ["xyz", "", "0123456789"])
def test_a_name_that_fits_none_is_said(run, called):
    assert "No vehicle fits" in run("show", called, status=1).stderr


def test_a_name_that_fits_several_names_them(run):
    said = run("show", "library", status=1).stderr
    assert "LIB 042" in said
    assert "VET 117" in said
