import pytest
from click.testing import CliRunner

from logic.desk.main import COMMANDS, office, usual_folder


@pytest.mark.parametrize("name", COMMANDS)
def test_every_command_has_help_with_an_example_of_itself(run, name):
    help_text = run(name, "--help").output
    assert f"voltwalk-office {name}" in help_text.split("Examples:")[1]


@pytest.mark.parametrize("name", COMMANDS)
def test_a_commands_help_teaches_only_options_that_exist(name):
    command = office.get_command(None, name)
    text = command.help
    options = {flag for option in command.params for flag in option.opts}
    used = {word for word in text.replace('"', " ").split() if word.startswith("--")}
    assert {word.strip(",.;") for word in used} <= options | {"--help"}


def test_the_first_screen_of_help_names_every_command(run):
    listed = run("--help").output.split("Commands:")[1]
    assert all(f"\n  {name} " in listed for name in COMMANDS)


def test_the_usual_folder_is_where_the_app_on_this_desk_keeps_its_store():
    toolkit = pytest.importorskip("mobile.ui.toolkit")
    assert usual_folder() == toolkit.user_folder()


def test_a_wrong_call_exits_with_2(run):
    assert "No such command 'frobnicate'" in run("frobnicate", status=2).output


def test_a_missing_store_is_said_in_one_line_and_not_made(tmp_path):
    place = tmp_path / "nowhere"
    result = CliRunner().invoke(office, ["--store", str(place), "list"])
    assert result.exit_code == 1
    assert len(result.stderr.strip().splitlines()) == 1
    assert "--store FOLDER" in result.stderr
    assert not place.exists()


def test_the_store_may_be_named_in_the_environment(folder):
    result = CliRunner().invoke(office, ["list"], env={"VOLTWALK_STORE": str(folder)})
    assert "LIB 042" in result.output


@pytest.mark.parametrize(
    ("platform", "variable", "expected"),
    [
        ("linux", "XDG_DATA_HOME", "data/voltwalk"),
        ("darwin", "", "Library/Application Support/voltwalk"),
    ],
)
def test_the_usual_folder_is_the_platforms_own(monkeypatch, tmp_path, platform, variable, expected):
    monkeypatch.setattr("sys.platform", platform)
    monkeypatch.setenv("HOME", str(tmp_path))
    monkeypatch.delenv("XDG_DATA_HOME", raising=False)
    if variable:
        monkeypatch.setenv(variable, str(tmp_path / "data"))
    assert usual_folder() == tmp_path / expected
