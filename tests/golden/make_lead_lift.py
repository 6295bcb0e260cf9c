"""Makes ``lead_lift.csv``: how far charging lifts a lead battery over its rest volts, by minutes.

Run in a surrounding of its own that has PyBaMM 26.10 (it is no dependency of this project):
``python -m tests.golden.make_lead_lift > tests/golden/lead_lift.csv``. The full lead-acid model
with the parameters of Sulzer 2019, six cells, from that set's own state of charge.
"""


def main() -> None:
    """Print the table."""
    import pybamm

    pybamm.set_logging_level("ERROR")
    print("current_share,minutes,lift_v,source")
    source = f"PyBaMM {pybamm.__version__}, lead-acid full model, Sulzer2019, 6 cells"
    for share in (0.05, 0.1, 0.2, 0.4):
        charged, rested = (_volts(pybamm, rate) for rate in (share, 1e-4))
        for minutes in (1, 2.5, 5, 10):
            lift = 6 * float(charged(60 * minutes) - rested(1))
            print(f'{share},{minutes},{lift:.3f},"{source}"')


def _volts(pybamm, share):
    parameters = pybamm.ParameterValues("Sulzer2019")
    parameters["Current function [A]"] = -share * parameters["Nominal cell capacity [A.h]"]
    parameters["Upper voltage cut-off [V]"] = 3.5
    simulation = pybamm.Simulation(pybamm.lead_acid.Full(), parameter_values=parameters)
    return simulation.solve([0, 600])["Terminal voltage [V]"]


if __name__ == "__main__":
    main()
