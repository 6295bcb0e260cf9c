"""cryptography, linked to Python's library; see the recipe of pydantic-core for the reason."""

from pythonforandroid.recipes.cryptography import CryptographyRecipe as BuiltByPythonForAndroid


class CryptographyRecipe(BuiltByPythonForAndroid):
    """The release of the desk, on the OpenSSL that Python is built with."""

    version = "46.0.3"

    def get_recipe_env(self, arch, **kwargs):
        env = super().get_recipe_env(arch, **kwargs)
        env["RUSTFLAGS"] += f" -Clink-arg=-lpython{self.ctx.python_recipe.link_version}"
        return env


recipe = CryptographyRecipe()
