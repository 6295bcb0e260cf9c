"""numpy of the first series that knows the phone's Python 3.14; python-for-android's is older."""

from pythonforandroid.recipes.numpy import NumpyRecipe as BuiltByPythonForAndroid


class NumpyRecipe(BuiltByPythonForAndroid):
    """The same build of a later release, the one that the desk runs too."""

    # numpy's release notes: 2.3.0 "supports Python versions 3.11-3.13", 2.3.5 "3.11-3.14".
    version = "v2.3.5"


recipe = NumpyRecipe()
