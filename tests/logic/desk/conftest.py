import pytest
from click.testing import CliRunner

from logic.desk.main import office
from logic.records.store.store import Store
from tests.logic.records import scenes


@pytest.fixture
def folder(tmp_path):
    """A store with a signed library van, a signed ute, and a flatbed nothing is signed for."""
    with Store.open(tmp_path / "store") as store:
        scenes.signed_van(store, "LIB 042")
        scenes.signed_van(store, "VET 117")
        flatbed = scenes.van(store, "BEE 338", description="beekeeper's flatbed")
        scenes.install(store, flatbed)
        opened = scenes.open_job(store, flatbed)
        scenes.answer(store, flatbed, opened, "house_voltage", 12.71)
    return tmp_path / "store"


@pytest.fixture
def desk_that_trusts(folder, tmp_path):
    """Return another desk's folder; it and the first take each other's keys for the workshop's."""
    there = tmp_path / "there"
    with Store.open(folder) as one, Store.open(there) as other:
        scenes.befriend(one, other)
    return there


@pytest.fixture
def run(folder):
    def call(*arguments, status=0, **more):
        result = CliRunner().invoke(office, ["--store", str(folder), *arguments], **more)
        assert result.exit_code == status, result.output
        assert "Traceback" not in result.output
        return result

    return call
