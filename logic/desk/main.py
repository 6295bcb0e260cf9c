"""The desk's command line. Each command's module is imported only when it is called."""

import importlib
import itertools
import os
import sys
from pathlib import Path
from typing import Any

import click

from logic import __version__
from logic.desk.terminal import plain
from logic.errors import AppError

COMMANDS = {
    "list": "logic.desk.vehicles:list_vehicles",
    "find": "logic.desk.vehicles:find",
    "show": "logic.desk.show:show",
    "export": "logic.desk.export:export",
    "import": "logic.desk.import_bundles:import_bundles",
    "keys": "logic.desk.keys:keys",
    "verify": "logic.desk.verify:verify",
    "stamp": "logic.desk.stamp:stamp",
    "label": "logic.desk.label:label",
    "diagnose": "logic.desk.diagnose:diagnose",
    "stats": "logic.desk.stats:stats",
    "backup": "logic.desk.backup:backup",
    "restore": "logic.desk.backup:restore",
    "erase": "logic.desk.erase:erase",
}


class Office(click.Group):
    """The commands by name, and where an error becomes one line for people."""

    def list_commands(self, ctx: click.Context) -> list[str]:
        """Name the commands in the order in which a desk needs them."""
        return list(COMMANDS)

    def get_command(self, ctx: click.Context, cmd_name: str) -> click.Command | None:
        """Import a command."""
        if cmd_name not in COMMANDS:
            return None
        module, _, name = COMMANDS[cmd_name].partition(":")
        command = getattr(importlib.import_module(module), name)
        return command if isinstance(command, click.Command) else None

    def invoke(self, ctx: click.Context) -> Any:
        """Run a command; what may be shown to people becomes one line and exit status 1."""
        try:
            return super().invoke(ctx)
        except AppError as error:
            raise click.ClickException(plain(error)) from error
        except click.UsageError as error:
            raise click.UsageError(plain(error.format_message()), error.ctx) from error
        except BrokenPipeError:
            raise
        except OSError as error:
            file = f"{error.filename}: " if error.filename else ""
            raise click.ClickException(plain(f"{file}{error.strerror or error}.")) from error

    def parse_args(self, ctx: click.Context, args: list[str]) -> list[str]:
        """Take the call apart, unless a file's name in it could be read as an option.

        A folder that others can write to may hold a file named ``--hash=...``, and the shell
        puts its name into ``verify *``.
        """
        for name in itertools.takewhile(lambda one: one != "--", args):
            if name.startswith("-") and name != "-" and os.path.lexists(name):
                raise click.UsageError(
                    f"'{plain(name)}' is the name of a file here and may be read as an option. "
                    f"Write ./{plain(name)} for the file, or call this from another folder.",
                    ctx,
                )
        return super().parse_args(ctx, args)


def usual_folder() -> Path:
    """Return the platform's own folder for a program's data, where the app keeps it too."""
    if os.name == "nt":
        base = Path(os.environ.get("APPDATA", str(Path.home())))
    elif sys.platform == "darwin":
        base = Path.home() / "Library" / "Application Support"
    else:
        base = Path(os.environ.get("XDG_DATA_HOME", str(Path.home() / ".local" / "share")))
    return base / "voltwalk"


_SETTINGS = {"help_option_names": ["-h", "--help"], "max_content_width": 100}


@click.group(
    cls=Office,
    help="""Keep, find, check and hand out the workshop's records.

    The records are those of the phone app: bring them here with 'import'. Nothing signed is ever
    changed here; 'erase' takes out a customer's name and leaves the technical record.

    \b
    Begin like this:
      voltwalk-office keys                     whose signatures are ours
      voltwalk-office import van.voltwalk      take in what a phone sent
      voltwalk-office find lib                 which vehicle was it
      voltwalk-office show "LIB 042"           what was done to it
      voltwalk-office export "LIB 042"         print it again as a PDF
      voltwalk-office verify record.pdf        is this what was signed

    The store's folder is --store, else $VOLTWALK_STORE, else the usual folder for a program's data.
    A VEHICLE is its plate, any part of it that fits only one, or the id that 'list' shows.

    Exit status: 0 done, 1 refused or not intact (the reason is on the error stream), 2 wrong call;
    'verify' has two more of its own, see its help.
    """,
    context_settings=_SETTINGS,
)
@click.option(
    "--store",
    "folder",
    envvar="VOLTWALK_STORE",
    type=click.Path(file_okay=False, path_type=Path),
    help="The store's folder.  [env: VOLTWALK_STORE]",
)
@click.version_option(__version__, prog_name="voltwalk-office")
@click.pass_context
def office(context: click.Context, folder: Path | None) -> None:
    context.obj = folder or usual_folder()


def main() -> None:
    """Run the command line; everything written is UTF-8, in a pipe as on a screen."""
    for stream in (sys.stdout, sys.stderr):
        if hasattr(stream, "reconfigure"):
            stream.reconfigure(encoding="utf-8", errors="replace")
    office.main(prog_name="voltwalk-office")


if __name__ == "__main__":
    main()
