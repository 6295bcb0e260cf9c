"""Batteries in parallel: against a copied worked example, ngspice, and what symmetry asks for."""

import subprocess

import pytest
from hypothesis import given
from hypothesis import strategies as st

from logic.circuit.parallel import first_share, shares
from logic.vehicle.installation import TakeOff
from tests.equipment import with_batteries_in_parallel

# Four batteries of 20 mΩ, links of 1.5 mΩ, 100 A. A worked example copied on many pages about
# boats' battery banks: value from memory, A.
ONE_END = (35.9, 26.2, 20.4, 17.8)
DIAGONAL = (26.7, 23.2, 23.2, 26.7)


@pytest.mark.parametrize(
    ("take_off", "published"), [(TakeOff.ONE_END, ONE_END), (TakeOff.DIAGONAL, DIAGONAL)]
)
def test_the_copied_worked_example_comes_out(take_off, published):
    found = [100 * share for share in shares([0.02] * 4, 0.0015, take_off)]
    assert found == pytest.approx(published, abs=0.15)


counts, ohms = st.integers(2, 8), st.floats(0.001, 0.05)
links = st.floats(0.0001, 0.01)


@given(st.lists(ohms, min_size=2, max_size=8), links, st.sampled_from(list(TakeOff)))
def test_the_shares_sum_to_one(each, link, take_off):
    assert sum(shares(each, link, take_off)) == pytest.approx(1.0, abs=1e-6)


@given(counts, ohms, links)
def test_diagonal_equal_batteries_share_alike_from_either_end(count, ohm, link):
    found = shares([ohm] * count, link, TakeOff.DIAGONAL)
    assert found == pytest.approx(found[::-1], rel=1e-6)
    apart = max(found) / min(found)
    one_end = shares([ohm] * count, link, TakeOff.ONE_END)
    assert apart <= max(one_end) / min(one_end) + 1e-9
    assert list(one_end) == sorted(one_end, reverse=True), "the far ones take less"


@pytest.mark.outside
@pytest.mark.parametrize("take_off", [TakeOff.ONE_END, TakeOff.DIAGONAL])
@pytest.mark.parametrize("each", [[0.02, 0.02], [0.005, 0.009, 0.004], [0.01, 0.012] * 3])
def test_ngspice_gives_the_same_shares(each, take_off, tmp_path):
    last = len(each) - 1
    sink = 0 if take_off is TakeOff.ONE_END else last
    lines = ["* bank", f"I1 n{sink} p0 100", f"Vref n{sink} 0 0"]
    for k, ohm in enumerate(each):
        lines += [f"R{k} p{k} e{k} {ohm}", f"V{k} e{k} n{k} 12.8"]
        if k < last:
            lines += [f"Rp{k} p{k} p{k + 1} 0.0007", f"Rn{k} n{k} n{k + 1} 0.0007"]
    lines += [".control", "set numdgt=9", "op"]
    lines += [f'let i{k}=i(v{k})\necho "= $&i{k}"' for k in range(len(each))]
    deck = tmp_path / "bank.cir"
    deck.write_text("\n".join([*lines, ".endc", ".end"]) + "\n")
    run = subprocess.run(["ngspice", "-b", deck], capture_output=True, text=True, check=False)
    theirs = [float(line[2:]) for line in run.stdout.splitlines() if line.startswith("= ")]
    ours = [100 * share for share in shares(each, 0.0007, take_off)]
    assert ours == pytest.approx(theirs, abs=0.01)


@pytest.mark.parametrize("count", [2, 3, 4])
def test_with_one_battery_out_the_first_ones_share_is_out_of_range(count):
    sharing = first_share(with_batteries_in_parallel(count))
    assert sharing.low < 1 / count < sharing.high < 1 / (count - 1)
    assert sharing.low <= sharing.likely <= sharing.high
