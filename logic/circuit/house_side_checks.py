"""Design checks of what sits beside one unit on the house side.

A second unit's runs and fuses, batteries in parallel, isolator switches, and what else charges the
same battery. :mod:`logic.circuit.sizing` has the checks of one unit and joins these to them.
"""

from collections.abc import Iterator
from dataclasses import replace

from logic.circuit import tables
from logic.circuit.parallel import each_resistance, link_resistance, shares
from logic.circuit.second_unit import as_second_unit
from logic.circuit.sizing import PRACTICE, DesignCheck, all_output, input_at_lowest, run_checks
from logic.vehicle.installation import Chemistry, Extra, Installation, TakeOff
from logic.words.figures import as_stated, percent, whole_amperes
from logic.words.names import counted, other_sources


def house_side_checks(installation: Installation) -> Iterator[DesignCheck]:
    """Yield the checks of what is fitted beside one unit; none where nothing is."""
    if installation.has(Extra.SECOND_CHARGER):
        yield from _second_unit(installation)
    if installation.has(Extra.BATTERIES_IN_PARALLEL):
        yield _take_off(installation)
        yield _alike(installation)
    if installation.has(Extra.VEHICLE_ISOLATOR):
        yield _vehicle_isolator(installation)
    if installation.has(Extra.HOUSE_ISOLATOR):
        yield _house_isolator(installation)
    if installation.has(Extra.SOLAR_REGULATOR) or installation.has(Extra.MAINS_CHARGER):
        yield _other_sources(installation)


def _second_unit(installation: Installation) -> Iterator[DesignCheck]:
    """Hold the second unit's runs and fuses to the rules of the first one's."""
    if installation.second_unit_runs is None:
        yield DesignCheck(
            "second_unit_runs",
            "Second unit: runs and fuses",
            None,
            "Nothing is known of the second unit's own runs.",
            PRACTICE,
            "Describe them in the set-up: each unit has its own cables, and its own fuse at each "
            "battery.",
        )
        return
    for check in run_checks(as_second_unit(installation)):
        title = check.title[:1].lower() + check.title[1:]
        yield replace(check, rule_id=f"second_unit_{check.rule_id}", title=f"Second unit: {title}")


def _take_off(installation: Installation) -> DesignCheck:
    """Hold how evenly the batteries share against how far apart they may be."""
    rule_id, title = "parallel_take_off", "Batteries in parallel share alike"
    row = tables.row("parallel", "join.most_apart")
    source = f"{tables.row('parallel', 'join.one_end').source}; shares by Kirchhoff's laws"
    battery, count = installation.house_battery, installation.house_battery.in_parallel or 1
    each = [each_resistance(installation)] * count
    link = link_resistance(installation)
    far = "Positive lead on the first battery, negative lead on the last."
    if battery.take_off is None:
        worst = shares(each, link, TakeOff.ONE_END)
        text = (
            "Where the two leads leave the batteries is not known; both on one of "
            f"{count}, with links like the house feed, the first takes {percent(worst[0])} of the "
            f"current and the last {percent(worst[-1])}."
        )
        return DesignCheck(rule_id, title, None, text, source, far)
    found = shares(each, link, battery.take_off)
    apart = max(found) / min(found)
    text = (
        f"{_WAYS[battery.take_off]}: of {count} batteries the first takes {percent(found[0])} of "
        f"the current, the least loaded one {percent(min(found))}; up to {row.value:g} times apart "
        "is usual."
    )
    passed = apart <= row.value
    return DesignCheck(rule_id, title, passed, text, source, "" if passed else far)


_WAYS = {
    TakeOff.ONE_END: "Both leads on one battery",
    TakeOff.DIAGONAL: "One lead on either end",
    TakeOff.BUSBARS: "Leads of equal length to busbars",
}


def _alike(installation: Installation) -> DesignCheck:
    """Ask to look whether the batteries are alike, and each lithium one fused."""
    count = installation.house_battery.in_parallel or 1
    text = (
        f"{counted(count, 'battery', 'batteries')} in parallel have to be of one age, kind and "
        "capacity, charged to the same volts before they are joined, with links of equal length "
        "and size."
    )
    if installation.house_battery.chemistry is Chemistry.LIFEPO4:
        text += " A lithium battery gives thousands of amperes into a fault in its neighbour."
    right = "Look at the date codes and labels"
    if installation.house_battery.chemistry is Chemistry.LIFEPO4:
        right += "; a fuse for each battery, at its own post, and as many as its maker allows"
    return DesignCheck(
        "parallel_alike", "Batteries in parallel are alike", None, text, PRACTICE, f"{right}."
    )


def _vehicle_isolator(installation: Installation) -> DesignCheck:
    load = input_at_lowest(installation)
    text = (
        f"At the lowest supply {whole_amperes(load)} flow for hours: the isolator in the vehicle "
        "feed has to carry that continuously. Its rating for a minute says nothing of it."
    )
    right = "Read its continuous rating. It is no fuse, and it sits behind the fuse."
    title = "Isolator in the vehicle feed carries it"
    return DesignCheck("vehicle_isolator", title, None, text, PRACTICE, right)


def _house_isolator(installation: Installation) -> DesignCheck:
    load = installation.charger.rated_output_current_a
    text = (
        f"Full load is {as_stated(load, 'A')} for hours, which the isolator in the house feed has "
        "to carry continuously. Opened under load it takes the battery away from a unit that "
        "charges, whose volts may jump."
    )
    right = (
        "Read its continuous rating. Stop the unit before the isolator is opened, or fit it where "
        "the unit's maker allows: the maker's instructions decide."
    )
    title = "Isolator in the house feed carries it"
    return DesignCheck("house_isolator", title, None, text, PRACTICE, right)


def _other_sources(installation: Installation) -> DesignCheck:
    names = other_sources(installation)
    give = "gives" if len(names) == 1 else "give"
    most = "the most that the battery takes is not known"
    limit = installation.house_battery.max_charge_current_a
    if limit is not None:
        most = f"the battery takes {as_stated(limit, 'A')} at most"
    given = as_stated(all_output(installation), "A")
    text = f"What {' and '.join(names)} {give} adds to the {given} from here; {most}."
    right = (
        "Read their plates and add up what can charge at the same time. Set all to the same "
        "absorption volts: the one set highest does the last of the charging alone."
    )
    title = "Other chargers on the same battery"
    return DesignCheck("other_sources", title, None, text, PRACTICE, right)
