"""An advice in words: the same on the glass and on paper."""

from collections.abc import Iterator

from logic.choosing import figures
from logic.choosing.advice import Advice, supply_rows
from logic.choosing.wish import Load, Sun, Wish
from logic.circuit import tables
from logic.quantities import Ampere
from logic.vehicle.installation import Chemistry, Control
from logic.words.equipment import from_to
from logic.words.figures import as_stated, number, percent, whole_amperes
from logic.words.names import CHEMISTRIES, capitalised

Rows = tuple[tuple[str, str], ...]

SUNS = {
    Sun.DULL: "dull winter",
    Sun.WINTER: "winter",
    Sun.SPRING: "spring or autumn",
    Sun.SUMMER: "summer",
}
CONTROLS = {
    "fixed": "fixed voltage",
    "variable": "set by the vehicle's computer",
    "converter": "a DC-DC supply of its own",
    "unknown": "kind not known",
}
DISCLAIMER = (
    "Worked out from the figures as they were given; nothing was measured. The papers of unit, "
    "battery and vehicle win, and local rules and licensed practice come first."
)


def _units(advice: Advice) -> str:
    """Name the unit or both: "40 A charger", "two 40 A chargers"."""
    each = as_stated(advice.rated_a, "A")
    return f"{each} charger" if advice.second_rated_a is None else f"two {each} chargers"


def _rating(advice: Advice) -> str:
    each = as_stated(advice.rated_a, "A")
    if advice.second_rated_a is None:
        return each
    both = as_stated(advice.rated_a + advice.second_rated_a, "A")
    return f"two of {each} side by side, {both}"


def headline(advice: Advice) -> str:
    """Say the answer in one line."""
    wish = advice.wish
    return (
        f"{_units(advice)}, {from_to(wish.nominal_voltage_v, wish.house_nominal_voltage_v)}, "
        f"for {as_stated(advice.capacity_ah, 'Ah')} {CHEMISTRIES[wish.chemistry]}"
    )


def in_brief(advice: Advice) -> str:
    """Say in a few words whether a week comes out."""
    if advice.holds:
        return f"It lasts: lowest charge {percent(advice.week.lowest)}."
    low = next((h for h, c in enumerate(advice.week.by_the_hour()) if c < advice.floor), None)
    if low is None:
        return "It runs down week by week."
    return f"It does not last: under {percent(advice.floor)} on day {low // 24 + 1}."


def standing(advice: Advice) -> str:
    """Say whether a week comes out, and what limits it."""
    return advice.what_limits if advice.holds else f"{in_brief(advice)} {advice.what_limits}"


def answer_rows(advice: Advice) -> Rows:
    """List what serves the wish."""
    wish = advice.wish
    own = "" if wish.rated_output_current_a is None else "; chosen, not advised"
    given = "; advised" if wish.capacity_ah is None else ""
    house_m = figures.number("run.house")
    limit = advice.input_limit_a
    out, drawn_at, battery_at = "out", "", ""
    if wish.has_two_voltages:
        house = as_stated(wish.house_nominal_voltage_v, "V")
        out, battery_at = f"out at {house}", f", {house}"
        drawn_at = f" from {as_stated(wish.nominal_voltage_v, 'V')}"
    rows = (
        ("Charger", f"{_rating(advice)} {out}{own}"),
        (
            "Draws from the vehicle",
            f"up to {whole_amperes(advice.input_a)}{drawn_at}"
            f"{' each' if advice.second_rated_a is not None else ''} at the lowest supply"
            + (f"; hold its input to {whole_amperes(limit)}" if limit is not None else ""),
        ),
        (
            "House battery",
            f"{as_stated(advice.capacity_ah, 'Ah')} {CHEMISTRIES[wish.chemistry]}"
            f"{battery_at}{given}",
        ),
        (
            "Vehicle cable",
            _cable(advice.vehicle_cable.words, wish.run_length_m),
        ),
        ("House cable", _cable(advice.house_cable.words, house_m)),
        ("Vehicle fuse", _fuse(advice.vehicle_fuse_a, "start battery")),
        ("House fuse", _fuse(advice.house_fuse_a, "house battery")),
        ("Cable means", _cable_condition()),
        ("Charged again", _recharge(advice)),
    )
    return tuple((label, text) for label, text in rows if text)


def _cable(words: str, length_m: float) -> str:
    far = f"out and back, {as_stated(float(f'{length_m:.3g}'), 'm')} each way"
    return f"{words}, {far}" if words else f"more than any standard cable: shorten it ({far})"


def _fuse(rating_a: Ampere | None, battery: str) -> str:
    if rating_a is None:
        return "more than any link that is sold: two units, each with its own fuses"
    return f"{whole_amperes(rating_a)}, close to the {battery}"


def _cable_condition() -> str:
    insulation = as_stated(figures.number("cable.insulation"), "°C")
    return f"{insulation} insulation, feed and return together and nothing else in the conduit"


def _recharge(advice: Advice) -> str:
    full = percent(figures.number("recharge.full"))
    way = f"from {percent(advice.floor)} to {full}"
    if not advice.wish.driving_h:
        return ""
    if advice.recharge_h is None:
        return f"not {way} by driving: the loads take what it brings"
    return f"{way} in {number(advice.recharge_h, 1)} h of driving, loads on"


def balance_rows(advice: Advice) -> Rows:
    """List what a week brings and takes."""
    week = advice.week
    rows = [
        ("Driving brings", _ah(week.vehicle_ah)),
        ("Sun brings", _ah(week.solar_ah)),
        ("Loads take", _ah(week.served_ah + week.unserved_ah)),
        ("Charging loses", _ah(week.lost_ah)),
        ("Lowest charge", percent(week.lowest)),
    ]
    if week.unserved_ah > 0:
        rows.append(("Loads go without", _ah(week.unserved_ah)))
    return tuple(rows)


def balance(advice: Advice) -> str:
    """Say the same in one sentence."""
    said = ", ".join(
        f"{label[0].lower()}{label[1:]} {text}" for label, text in balance_rows(advice)
    )
    return f"In the week {said}."


def _ah(value: float) -> str:
    return f"{number(value, 0)} Ah"


def asked_rows(wish: Wish) -> Rows:
    """List what was asked for."""
    rated = wish.alternator_a
    rating = "rating not known" if rated is None else as_stated(rated, "A")
    supply = f"alternator {rating}, {CONTROLS[wish.control]}"
    if wish.control is Control.CONVERTER:
        supply = f"{CONTROLS[wish.control]}, {rating}"
    house = f"{as_stated(wish.house_nominal_voltage_v, 'V')}, " if wish.has_two_voltages else ""
    return (
        (
            "Vehicle",
            f"{as_stated(wish.nominal_voltage_v, 'V')}; {supply}",
        ),
        (
            "House battery",
            f"{house}{CHEMISTRIES[wish.chemistry]}, "
            + (as_stated(wish.capacity_ah, "Ah") if wish.capacity_ah else "capacity to be advised"),
        ),
        ("Loads", _loads(wish)),
        ("Driving", _driving(wish)),
        ("Sun", _sun(wish)),
        ("Vehicle run", f"{as_stated(float(f'{wish.run_length_m:.3g}'), 'm')} one way"),
    )


def _driving(wish: Wish) -> str:
    if not (wish.driving_h and wish.driving_days):
        return "none"
    return f"{number(wish.driving_h, 1)} h a day on {wish.driving_days} days a week"


def _sun(wish: Wish) -> str:
    if not wish.panel_w:
        return "no panel"
    hours = as_stated(wish.sun.peak_hours, "h")
    panel = as_stated(float(f"{wish.panel_w:.4g}"), "W")
    return f"{panel} of panel, {SUNS[wish.sun]}: {hours} of full sun a day"


def _loads(wish: Wish) -> str:
    each = "; ".join(_load(load) for load in wish.loads)
    factor = "" if wish.load_factor == 1 else f", times {number(wish.load_factor, 2)}"
    return f"{each}: {_ah(wish.daily_ah)} a day{factor}" if each else "none"


def _load(load: Load) -> str:
    given = as_stated(load.current_a, "A") if load.power_w is None else as_stated(load.power_w, "W")
    named = f"{load.name} " if load.name else ""
    return f"{named}{given} for {as_stated(load.hours, 'h')}"


_SPARES = {Control.CONVERTER: "What a DC-DC supply spares"}


def sources(advice: Advice) -> Iterator[str]:
    """Yield where the figures come from that the answer stands on most."""
    kind, (share, own_use) = advice.wish.chemistry, supply_rows(advice.wish)
    named = [
        (_SPARES.get(advice.wish.control, "What an alternator spares"), "supply", share),
        ("What the vehicle uses itself", "supply", own_use),
        ("What the battery bears", "batteries", f"charge_share.{kind}"),
        ("Cable loss", "conductors", "drop_limit.charging_cable"),
        ("Fuses", "fuses", "rule.lasting_share"),
    ]
    if kind is not Chemistry.LIFEPO4:
        named.insert(3, ("What it takes near full", "batteries", "acceptance.lead"))
    for what, table, name in named:
        yield f"{what}: {tables.row(table, name).source}"
    yield f"{capitalised('days without charge')}: {figures.rows()['capacity.days_still'].source}"
