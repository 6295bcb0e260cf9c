"""pydantic-core, linked to Python's library as Android's loader wants it.

Android's loader finds a symbol only in the libraries that the module itself names, so a module
of Rust that does not name Python's builds well and does not load. python-for-android names it
since its pull request 3333 (May 2026), after its release 2026.5.9; once a release that has it is
pinned this recipe can go.
"""

from pythonforandroid.recipe import RustCompiledComponentsRecipe


class PydanticCoreRecipe(RustCompiledComponentsRecipe):
    """The release that pydantic 2.12.3 asks for."""

    version = "2.41.4"
    url = "https://github.com/pydantic/pydantic-core/archive/refs/tags/v{version}.tar.gz"
    site_packages_name = "pydantic_core"

    def get_recipe_env(self, arch, **kwargs):
        env = super().get_recipe_env(arch, **kwargs)
        env["RUSTFLAGS"] += f" -Clink-arg=-lpython{self.ctx.python_recipe.link_version}"
        return env


recipe = PydanticCoreRecipe()
