"""The screens. One word names each in four places: module, kv, class and route.

``PAGES`` imports a screen's module only when the screen is first shown.
"""

from mobile.navigation import Catalogue
from mobile.widgets.pages import Page


def _trouble() -> type[Page]:
    from mobile.screens.trouble import TroubleScreen

    return TroubleScreen


PAGES: Catalogue = {
    "trouble": _trouble,
}
