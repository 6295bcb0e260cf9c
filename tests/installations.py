"""Installations for hypothesis: anything a workshop may meet, known fully or hardly at all."""

from typing import get_args

from hypothesis import strategies as st

from logic.vehicle.installation import (
    Alternator,
    CableRun,
    Charger,
    Control,
    HouseBattery,
    HouseChemistry,
    Installation,
    Location,
    Runs,
    Solar,
    StartBattery,
    StartChemistry,
)


def maybe(strategy):
    return st.none() | strategy


def cables(longest=8.0):
    return st.builds(
        CableRun,
        length_m=maybe(st.floats(0.3, longest)),
        area_mm2=maybe(st.sampled_from([5.26, 8.37, 13.3, 16.0, 21.15, 33.6])),
        joints=maybe(st.integers(0, 6)),
        fuse_a=maybe(st.sampled_from([30.0, 40.0, 60.0, 80.0])),
        insulation_c=maybe(st.sampled_from([60.0, 75.0, 90.0, 105.0, 125.0])),
        bundled_cables=maybe(st.integers(1, 8)),
    )


@st.composite
def installations(draw):
    nominal = draw(st.sampled_from([12, 24]))
    output = draw(st.sampled_from([None, None, 12, 24]))
    scale, house = nominal / 12, (output or nominal) / 12
    chemistry = draw(st.sampled_from(get_args(HouseChemistry)))

    def volts(low, high, side=scale):
        return draw(maybe(st.floats(low * side, high * side)))

    return Installation(
        nominal_voltage_v=nominal,
        output_nominal_voltage_v=output,
        alternator=Alternator(
            control=draw(st.sampled_from(list(Control))),
            rated_current_a=draw(maybe(st.floats(50, 250))),
        ),
        start_battery=draw(
            maybe(
                st.builds(
                    StartBattery,
                    chemistry=st.sampled_from(get_args(StartChemistry)),
                    capacity_ah=maybe(st.floats(40, 120)),
                    second=st.sampled_from([None, None, "parallel", "series"]),
                    sensor_on_negative=maybe(st.booleans()),
                )
            )
        ),
        charger=Charger(
            rated_output_current_a=draw(st.sampled_from([20.0, 25.0, 30.0, 40.0, 50.0])),
            efficiency=draw(maybe(st.floats(0.85, 0.96))),
            start_voltage_v=volts(13.0, 13.4),
            stop_voltage_v=volts(12.5, 12.9),
            ignition_start_voltage_v=volts(11.9, 12.2),
            ignition_stop_voltage_v=volts(11.3, 11.8),
            ignition_signal_min_v=volts(5, 9),
            absorption_voltage_v=volts(14.1, 14.8, house),
            float_voltage_v=volts(13.3, 13.8, house),
            input_current_limit_a=draw(maybe(st.floats(10, 60))),
        ),
        house_battery=HouseBattery(
            chemistry=chemistry,
            capacity_ah=draw(maybe(st.floats(60, 400))),
            absorption_voltage_v=volts(14.1, 14.8, house),
        ),
        runs=Runs(
            vehicle_feed=draw(cables()),
            vehicle_return=draw(cables(4.0)),
            house_feed=draw(cables(3.0)),
            house_return=draw(cables(3.0)),
        ),
        location=draw(maybe(st.sampled_from(list(Location)))),
        ambient_c=draw(maybe(st.floats(-10, 45))),
        solar=draw(
            maybe(
                st.builds(
                    Solar,
                    rated_power_w=maybe(st.floats(50, 400)),
                    open_circuit_voltage_v=maybe(st.floats(18 * house, 24 * house)),
                    short_circuit_current_a=maybe(st.floats(3, 15)),
                    max_power_voltage_v=maybe(st.floats(15 * house, 20 * house)),
                )
            )
        ),
    )
