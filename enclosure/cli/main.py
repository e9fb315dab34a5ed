"""Which commands are there, and what happens when one of them fails?

Exit codes: 0 good, 1 the design cannot be made, 2 the brief (or the command) cannot be read, 3 made but
a check is over 1.00, 130 stopped with Ctrl-C. Errors go to stderr: one line, a blank line, a hint.
Nothing heavy is imported here: each command imports what it needs when it runs.
"""

from __future__ import annotations

import os
import re
import sys
from importlib import import_module

import click

from enclosure import __version__
from enclosure.errors import EnclosureError, OutputError, nearest

# no model here has a plug-in, and looking for them reads the facts of every package that is installed
os.environ.setdefault("PYDANTIC_DISABLE_PLUGINS", "__all__")

PROGRAM = "enclosure"
STOPPED = 130
COMMANDS = (
    "new", "check", "compare", "make", "verify", "fit", "grow", "outgrow", "grove", "rack", "serve", "templates",
    "completion",
)  # fmt: skip
"""In the order of work; each stands in the module of its name and is imported when it is asked for."""


class _Commands(click.Group):
    """A group that offers the nearest command and keeps the order of work in its help."""

    def list_commands(self, ctx: click.Context) -> list[str]:
        return list(COMMANDS)

    def get_command(self, ctx: click.Context, cmd_name: str) -> click.Command | None:
        if cmd_name not in COMMANDS:
            return None
        command: click.Command = getattr(import_module(f"enclosure.cli.{cmd_name}"), cmd_name)
        return command

    def resolve_command(
        self, ctx: click.Context, args: list[str]
    ) -> tuple[str | None, click.Command | None, list[str]]:
        name = args[0]
        if name not in COMMANDS and not name.startswith("-"):
            way_out = nearest(name, COMMANDS, f"commands: {', '.join(COMMANDS)}")
            raise click.UsageError(f"there is no command {name}; {way_out}", ctx)
        return super().resolve_command(ctx, args)


@click.group(
    cls=_Commands, context_settings={"help_option_names": ["-h", "--help"], "max_content_width": 100}
)
@click.version_option(__version__, "-V", "--version", prog_name=PROGRAM, message="%(prog)s %(version)s")
def cli() -> None:
    """Winter shelters for tender trees.

    Write down what your plant needs, and get the cutting plans, the buying list, the labels and the
    order of work for a timber frame with clear sheets that comes apart and stores flat.

    \b
    Start like this:
      enclosure new my-fern.toml          answer a few questions
      enclosure check my-fern.toml        will it stand and stay warm?
      enclosure make my-fern.toml         write all the papers
    """


def main(arguments: list[str] | None = None) -> None:
    """Run the program and leave with its exit code."""
    sys.exit(run(arguments))


def run(arguments: list[str] | None = None) -> int:
    """Run the program and return its exit code."""
    try:
        result = cli.main(
            args=arguments,
            prog_name=PROGRAM,
            standalone_mode=False,
            color=False if "NO_COLOR" in os.environ else None,
        )
    except EnclosureError as error:
        complain(error.message, error.hint)
        return error.exit_code
    except click.UsageError as error:
        command = error.ctx.command_path if error.ctx is not None else PROGRAM
        complain(_our_style(error.format_message()), f"{command} --help shows what can be written here")
        return 2
    except click.ClickException as error:
        complain(_our_style(error.format_message()))
        return 2
    except (click.Abort, KeyboardInterrupt):
        click.echo("\nstopped; nothing was written", err=True)
        return STOPPED
    except BrokenPipeError:
        # the reader of a pipe went away; point stdout elsewhere so that closing it does not complain again
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        return 1
    except OSError as error:
        where = error.filename if isinstance(error.filename, str) else "what is printed"
        words = (error.strerror or str(error)).lower()
        refusal = OutputError(f"{where}: {words}", "check the name, the disk and its rights")
        complain(refusal.message, refusal.hint)
        return refusal.exit_code
    except Exception as error:
        return _own_fault(error)
    return result if isinstance(result, int) else 0


def complain(message: str, hint: str = "") -> None:
    """Print an error and its way out on stderr."""
    click.secho("error: ", fg="red", bold=True, nl=False, err=True)
    click.echo(message, err=True)
    if hint:
        click.echo(f"\nhint: {hint}", err=True)


def _our_style(message: str) -> str:
    """Return a message of the command-line library in lower case and without its full stop."""
    plain = (message[:1].lower() + message[1:].rstrip().removesuffix(".")).replace("'. (", "' (")
    return re.sub(r"is not in the range ([\d.]+)<=x<=([\d.]+)", r"must lie from \1 to \2", plain)


def _own_fault(error: Exception) -> int:
    if os.environ.get("ENCLOSURE_TRACE"):
        import traceback

        traceback.print_exception(error)
    complain(
        f"the program itself went wrong ({type(error).__name__}: {error})",
        "nothing is wrong with your files; set ENCLOSURE_TRACE=1, run it again and report what it prints",
    )
    return 1


if __name__ == "__main__":
    main()
