"""fonttools has compiled parts that are optional; the phone takes its pure wheel."""

from pythonforandroid.recipe import PyProjectRecipe


class FontToolsRecipe(PyProjectRecipe):
    """Makes python-for-android look for a wheel that fits Android: the pure one."""

    version = "4.68.0"
    url = "https://github.com/fonttools/fonttools/archive/refs/tags/{version}.tar.gz"


recipe = FontToolsRecipe()
