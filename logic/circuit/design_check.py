"""One rule of design held against an installation, and every rule in one sentence."""

from dataclasses import dataclass

PRACTICE = "common practice, no published source"


@dataclass(frozen=True)
class DesignCheck:
    """One rule held against an installation; ``passed`` is ``None`` where it cannot be told.

    It cannot be told where a figure is not known or only a guess, where the margin is thin, and
    where somebody has to look.

    ``rule`` is what has to hold, ``text`` what is found with its figures, ``right`` what would be
    right or what to do ("" where nothing is to be said), ``source`` where the rule comes from.
    """

    rule_id: str
    title: str
    passed: bool | None
    text: str
    source: str
    right: str = ""

    @property
    def rule(self) -> str:
        """What has to hold, in one sentence."""
        return _RULES[next(name for name in _RULES if self.rule_id.endswith(name))]

    @property
    def words(self) -> str:
        """What is found and what would be right."""
        return f"{self.text} {self.right}".rstrip()


_RULES = {
    "charge_current": "All units together give the battery no more than it may be charged with.",
    "profile": "The profile charges to the voltage that the battery asks for.",
    "input_limit": (
        "The input limit costs no more of the output than sparing the alternator asks for."
    ),
    "trailer_plug": "Full current stays within what one contact of the trailer's plug carries.",
    "trailer_fuse": "The feed to the trailer is fused in the towing vehicle, at the battery.",
    "trailer_return": "The current comes back from the trailer by a conductor of its own.",
    "trailer_socket": "Nothing is live on the tow socket while no trailer is hitched.",
    "alternator_share": (
        "The units draw no more than the alternator gives, warm and on the road, less what the "
        "vehicle uses itself."
    ),
    "converter_share": (
        "The units draw no more than the vehicle's own supply gives, less what the vehicle uses "
        "itself."
    ),
    "start_signal": "The unit starts whenever the vehicle's supply is on.",
    "thresholds": "The unit stops at a lower voltage than it starts at.",
    "low_supply": (
        "At the lowest supply, less what the vehicle's runs lose at full current, the unit is "
        "still over its stop voltage."
    ),
    "two_in_series": "A unit is fed across both batteries in series, never from one of the two.",
    "two_in_parallel": "A unit is fed from the battery that the alternator's cable comes to.",
    "battery_sensor": "No current of the unit goes round the start battery's sensor.",
    "sealing": "The unit's housing keeps out the dust and water of its place.",
    "heat": "The air at the unit stays under its limit on a hot day.",
    "lithium_place": "A lithium battery stays out of the heat under the bonnet.",
    "vented_place": "A flooded battery's gas goes outside, not into where people sit or sleep.",
    "cold_panel": "On the coldest morning the panel stays under the most that the unit takes.",
    "panel_reaches_battery": "Hot, the panel still works over the charging voltage.",
    "fuse_protects_cable": "The fuse is no larger than what its cable carries.",
    "fuse_carries_full_load": "Full current for hours loads the fuse to four fifths at most.",
    "usual_fuse": "No fuse is smaller than what is usual for a unit of this rating.",
    "fuse_breaks_fault": "The fuse can break the current that its battery gives into a short.",
    "second_unit_runs": "A second unit has its own cables, and its own fuse at each battery.",
    "parallel_take_off": "Batteries in parallel carry nearly the same current each.",
    "parallel_alike": (
        "Batteries in parallel are of one age and kind, with equal links, a lithium one fused."
    ),
    "vehicle_isolator": "An isolator carries the full current for as long as it flows.",
    "house_isolator": "An isolator carries the full current for as long as it flows.",
    "other_sources": "All that charges one battery at a time gives no more than it takes.",
    "house_side_drop": "Out and back, the house side loses no more than 3 % at full output.",
    "drop": "At full current the run loses no more than is usual for it.",
}
