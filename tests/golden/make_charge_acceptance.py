"""Makes ``charge_acceptance.csv``: how a lithium iron phosphate cell takes charge near full.

Run in a surrounding of its own that has PyBaMM 26.10 (it is no dependency of this project):
``python -m tests.golden.make_charge_acceptance > tests/golden/charge_acceptance.csv``. The
single-particle model with the parameters of Prada 2013 is charged with a constant current to
3.6 V and held there. The lead rows are not computed: they are as published.
"""

WRITER = "an independent writer's test of AGM from 50 %"
ARTICLE = "magazine article on off-grid batteries"
PUBLISHED = (
    ("agm", 0.4, 0.635, 0.03, f"{WRITER}: C/2.5 reaches 14.4 V after 13.5 Ah of 100"),
    ("agm", 0.2, 0.767, 0.03, f"{WRITER}: C/5 reaches 14.4 V after 26.7 Ah"),
    ("flooded", 0.1, 0.85, 0.03, f"{ARTICLE}: at most C/10 above 85 %"),
    ("flooded", 0.05, 0.95, 0.02, f"{ARTICLE}: C/20 above 95 %"),
    ("agm", 0.0075, 1.0, 0.01, f"{WRITER}: full where 0.75 % of the capacity flows"),
)


def main() -> None:
    """Print the table."""
    import pybamm

    pybamm.set_logging_level("ERROR")
    print("chemistry,current_share,quantity,expected,tolerance,source")
    for chemistry, share, knee, tolerance, source in PUBLISHED:
        print(f'{chemistry},{share},knee_charge,{knee},{tolerance},"{source}"')
    for share in (0.2, 0.4, 0.5):
        model = pybamm.lithium_ion.SPM()
        parameters = pybamm.ParameterValues("Prada2013")
        charge = pybamm.Experiment([f"Charge at {share}C until 3.6V", "Hold at 3.6V until C/50"])
        simulation = pybamm.Simulation(model, parameter_values=parameters, experiment=charge)
        found = simulation.solve(initial_soc=0.2)
        current = -found["Current [A]"].entries / parameters["Nominal cell capacity [A.h]"]
        hours = found["Time [h]"].entries
        taken = [0.0]
        for step in range(1, len(hours)):
            mean = (current[step] + current[step - 1]) / 2
            taken.append(taken[-1] + mean * (hours[step] - hours[step - 1]))
        knee = next(i for i, one in enumerate(current) if i and one < 0.999 * share)
        tail = next(i for i, one in enumerate(current) if i > knee and one <= 0.05)
        at_knee = 0.2 + 0.8 * taken[knee] / taken[-1]
        source = f"PyBaMM {pybamm.__version__}, SPM, Prada2013: {share} C to 3.6 V, then held"
        print(f'lifepo4,{share},knee_charge,{at_knee:.3f},0.05,"{source}"')
        print(f'lifepo4,{share},tail_hours,{hours[tail] - hours[knee]:.3f},0.25,"{source}"')


if __name__ == "__main__":
    main()
