"""The screens. One word names each four times: module, kv, class and route.

``PAGES`` imports a screen's module only when the screen is first shown.
"""

from mobile.ui.navigation import Catalogue
from mobile.ui.widgets.pages import Page


def _home() -> type[Page]:
    from mobile.ui.screens.home import HomeScreen

    return HomeScreen


def _vehicle() -> type[Page]:
    from mobile.ui.screens.vehicle import VehicleScreen

    return VehicleScreen


def _equipment() -> type[Page]:
    from mobile.ui.screens.equipment import EquipmentScreen

    return EquipmentScreen


def _particulars() -> type[Page]:
    from mobile.ui.screens.particulars import ParticularsScreen

    return ParticularsScreen


def _choose() -> type[Page]:
    from mobile.ui.screens.choose import ChooseScreen

    return ChooseScreen


def _advice() -> type[Page]:
    from mobile.ui.screens.advice import AdviceScreen

    return AdviceScreen


def _design() -> type[Page]:
    from mobile.ui.screens.design import DesignScreen

    return DesignScreen


def _own() -> type[Page]:
    from mobile.ui.screens.own import OwnScreen

    return OwnScreen


def _stage() -> type[Page]:
    from mobile.ui.screens.stage import StageScreen

    return StageScreen


def _step() -> type[Page]:
    from mobile.ui.screens.step import StepScreen

    return StepScreen


def _review() -> type[Page]:
    from mobile.ui.screens.review import ReviewScreen

    return ReviewScreen


def _signing() -> type[Page]:
    from mobile.ui.screens.signing import SigningScreen

    return SigningScreen


def _front_page() -> type[Page]:
    from mobile.ui.screens.front_page import FrontPageScreen

    return FrontPageScreen


def _signature() -> type[Page]:
    from mobile.ui.screens.signature import SignatureScreen

    return SignatureScreen


def _record() -> type[Page]:
    from mobile.ui.screens.record import RecordScreen

    return RecordScreen


def _callback() -> type[Page]:
    from mobile.ui.screens.callback import CallbackScreen

    return CallbackScreen


def _quick_check() -> type[Page]:
    from mobile.ui.screens.quick_check import QuickCheckScreen

    return QuickCheckScreen


def _circuit() -> type[Page]:
    from mobile.ui.screens.circuit import CircuitScreen

    return CircuitScreen


def _findings() -> type[Page]:
    from mobile.ui.screens.findings import FindingsScreen

    return FindingsScreen


def _ladder() -> type[Page]:
    from mobile.ui.screens.ladder import LadderScreen

    return LadderScreen


def _compared() -> type[Page]:
    from mobile.ui.screens.compared import ComparedScreen

    return ComparedScreen


def _repair() -> type[Page]:
    from mobile.ui.screens.repair import RepairScreen

    return RepairScreen


def _closing() -> type[Page]:
    from mobile.ui.screens.closing import ClosingScreen

    return ClosingScreen


def _exchange() -> type[Page]:
    from mobile.ui.screens.exchange import ExchangeScreen

    return ExchangeScreen


def _incoming() -> type[Page]:
    from mobile.ui.screens.incoming import IncomingScreen

    return IncomingScreen


def _self_test() -> type[Page]:
    from mobile.ui.screens.self_test import SelfTestScreen

    return SelfTestScreen


def _keys() -> type[Page]:
    from mobile.ui.screens.keys import KeysScreen

    return KeysScreen


def _erasure() -> type[Page]:
    from mobile.ui.screens.erasure import ErasureScreen

    return ErasureScreen


def _glossary() -> type[Page]:
    from mobile.ui.screens.glossary import GlossaryScreen

    return GlossaryScreen


def _notices() -> type[Page]:
    from mobile.ui.screens.notices import NoticesScreen

    return NoticesScreen


def _trouble() -> type[Page]:
    from mobile.ui.screens.trouble import TroubleScreen

    return TroubleScreen


PAGES: Catalogue = {
    "home": _home,
    "vehicle": _vehicle,
    "equipment": _equipment,
    "particulars": _particulars,
    "choose": _choose,
    "advice": _advice,
    "design": _design,
    "own": _own,
    "stage": _stage,
    "step": _step,
    "review": _review,
    "signing": _signing,
    "front_page": _front_page,
    "signature": _signature,
    "record": _record,
    "callback": _callback,
    "quick_check": _quick_check,
    "circuit": _circuit,
    "findings": _findings,
    "ladder": _ladder,
    "compared": _compared,
    "repair": _repair,
    "closing": _closing,
    "exchange": _exchange,
    "incoming": _incoming,
    "keys": _keys,
    "self_test": _self_test,
    "erasure": _erasure,
    "glossary": _glossary,
    "notices": _notices,
    "trouble": _trouble,
}
