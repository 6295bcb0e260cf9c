"""What is asked for before anything is fitted: vehicle, battery, loads, driving, sun, length.

``None`` is "not known", or "advise me" where the advice can say it.
"""

from enum import StrEnum
from typing import Annotated, Literal

from pydantic import Field

from logic.choosing import figures
from logic.quantities import Ampere, AmpereHour, Data, Metre, Watt
from logic.vehicle.installation import Chemistry, Control, HouseChemistry

Hour = Annotated[float, Field(json_schema_extra={"unit": "h"})]


class Sun(StrEnum):
    """How much sun a day has, where the vehicle stands: no latitude asked for."""

    DULL = "dull"
    WINTER = "winter"
    SPRING = "spring"
    SUMMER = "summer"

    @property
    def peak_hours(self) -> Hour:
        """The day's sunlight on a flat panel, as hours of 1000 W/m²."""
        points = figures.rows()["sun.hours"].points
        return points[list(Sun).index(self)][1]


class Load(Data):
    """One load on the house battery, by its current or by its power, and its hours a day."""

    name: str = Field("", max_length=40)
    current_a: Ampere | None = Field(None, ge=0, le=500)
    power_w: Watt | None = Field(None, ge=0, le=5000)
    hours: Hour = Field(ge=0, le=24)

    def daily_ah(self, nominal_voltage_v: float) -> AmpereHour:
        """Return what it takes in a day.

        Parameters
        ----------
        nominal_voltage_v : V
            Of the house battery: a load given in watts takes power over this.

        Returns
        -------
        Ah
        """
        amperes = (self.current_a or 0.0) + (self.power_w or 0.0) / nominal_voltage_v
        return amperes * self.hours


class Wish(Data):
    """Everything that the advice is worked out of.

    ``output_nominal_voltage_v`` is the house side's, None where it is the vehicle's: battery,
    loads and panel go by it. ``run_length_m`` is one way, from the start battery to the unit.
    ``rated_output_current_a`` and ``capacity_ah`` are left to the advice where they are None;
    ``load_factor`` is what the loads are multiplied by when somebody asks "what if".
    """

    nominal_voltage_v: Literal[12, 24] = 12
    output_nominal_voltage_v: Literal[12, 24] | None = None
    control: Control = Control.UNKNOWN
    alternator_a: Ampere | None = Field(None, gt=0, le=1000)
    chemistry: HouseChemistry = Chemistry.AGM
    capacity_ah: AmpereHour | None = Field(None, gt=0, le=5000)
    loads: tuple[Load, ...] = ()
    load_factor: float = Field(1.0, ge=0, le=10)
    driving_h: Hour = Field(1.0, ge=0, le=24, description="on a day that it is driven")
    driving_days: int = Field(7, ge=0, le=7, description="days a week that it is driven")
    panel_w: Watt = Field(0.0, ge=0, le=5000)
    sun: Sun = Sun.SPRING
    run_length_m: Metre = Field(5.0, gt=0, le=50)
    rated_output_current_a: Ampere | None = Field(None, gt=0, le=200)

    @property
    def scale(self) -> float:
        """The vehicle's nominal voltage over 12 V."""
        return self.nominal_voltage_v / 12

    @property
    def house_nominal_voltage_v(self) -> int:
        """Nominal voltage of the house side, V."""
        return self.output_nominal_voltage_v or self.nominal_voltage_v

    @property
    def house_scale(self) -> float:
        """The house side's nominal voltage over 12 V."""
        return self.house_nominal_voltage_v / 12

    @property
    def has_two_voltages(self) -> bool:
        """Whether the unit has to step up or down."""
        return self.house_nominal_voltage_v != self.nominal_voltage_v

    @property
    def daily_ah(self) -> AmpereHour:
        """What all loads take in a day."""
        each = (load.daily_ah(self.house_nominal_voltage_v) for load in self.loads)
        return self.load_factor * sum(each)
