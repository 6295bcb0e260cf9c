"""Installations by what is fitted beside one unit: nothing, a second unit, or everything."""

from logic.vehicle.installation import (
    Alternator,
    CableRun,
    Charger,
    Chemistry,
    Control,
    Fitted,
    HouseBattery,
    Installation,
    Joined,
    Runs,
    SecondUnitRuns,
    Solar,
    StartBattery,
    Trailer,
)

FEED = CableRun(length_m=4.0, area_mm2=16.0, joints=4, fuse_a=60.0)
BACK = CableRun(length_m=1.5, area_mm2=16.0, joints=2)
HOUSE_FEED = CableRun(length_m=1.5, area_mm2=16.0, joints=4, fuse_a=60.0)
HOUSE_BACK = CableRun(length_m=1.5, area_mm2=16.0, joints=2)
RUNS = {
    "vehicle_feed": FEED,
    "vehicle_return": BACK,
    "house_feed": HOUSE_FEED,
    "house_return": HOUSE_BACK,
}


def plain() -> Installation:
    """Return a vehicle with one unit of 40 A and a lithium battery of 200 Ah."""
    return Installation(
        alternator=Alternator(control=Control.FIXED, rated_current_a=180),
        start_battery=StartBattery(chemistry=Chemistry.FLOODED, capacity_ah=80),
        charger=Charger(
            rated_output_current_a=40.0, absorption_voltage_v=14.4, float_voltage_v=13.6
        ),
        house_battery=HouseBattery(
            chemistry=Chemistry.LIFEPO4, capacity_ah=200, max_charge_current_a=100
        ),
        runs=Runs(**RUNS),
    )


def with_fitted(**fitted: object) -> Installation:
    """Return that vehicle with this fitted beside."""
    return plain().model_copy(update={"fitted": Fitted.model_validate(fitted)})


def with_second_unit(rating_a: float = 40.0) -> Installation:
    """Return that vehicle with a second unit on runs like the first one's."""
    fitted = with_fitted(second_charger_rated_output_current_a=rating_a)
    return fitted.model_copy(update={"second_unit_runs": SecondUnitRuns(**RUNS)})


def with_batteries_in_parallel(count: int = 2) -> Installation:
    """Return that vehicle with its house battery made of several."""
    several = plain().house_battery.model_copy(update={"in_parallel": count})
    return plain().model_copy(update={"house_battery": several})


def with_everything() -> Installation:
    """Return a vehicle with all that can be fitted beside one unit."""
    start = StartBattery(chemistry=Chemistry.FLOODED, capacity_ah=80, second=Joined.SERIES)
    every = {name: True for name, info in Fitted.model_fields.items() if info.annotation is bool}
    unit = plain().charger.model_copy(update={"input_current_limit_a": 40.0})
    return with_second_unit().model_copy(
        update={
            "nominal_voltage_v": 24,
            "output_nominal_voltage_v": 12,
            "start_battery": start,
            "charger": unit,
            "house_battery": with_batteries_in_parallel().house_battery,
            "solar": Solar(rated_power_w=200),
            "trailer": Trailer(),
            "fitted": Fitted(**every, second_charger_rated_output_current_a=40.0),
        }
    )
