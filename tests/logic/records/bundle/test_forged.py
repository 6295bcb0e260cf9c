"""Forged exchange files change nothing that their maker may not speak for.

The whole run: ``python -m tests.benchmarks.forged_bundles 5000``.
"""

import pytest

from tests.logic.records.bundle.forged_run import Run


@pytest.fixture
def run(tmp_path):
    with Run.begun(tmp_path) as run:
        yield run


def test_no_forged_file_changes_a_vehicle_and_none_shuts_the_genuine_one_out(run):
    for seed in range(120):
        run.suffer(seed)
    assert run.done.keys() >= {"erase_a_customer", "make_up_a_revision", "vouch_for_oneself"}


def test_what_the_forger_agrees_to_is_no_key(run):
    """Even where erasures and dates ahead are agreed to, a stranger's stay out."""
    for seed in range(1000, 1060):
        run.suffer(seed, erasures=True, ahead=True)
