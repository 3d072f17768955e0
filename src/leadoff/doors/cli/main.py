"""The command line: arguments in, results out. Commands load at first use, so that help is quick."""

from __future__ import annotations

import importlib
import os
import sys
from typing import Any

import click

from leadoff import __version__

ONE_THREAD = ("OPENBLAS_NUM_THREADS", "OMP_NUM_THREADS", "MKL_NUM_THREADS")
"""The fit's matrices are small: more threads gain nothing, and wait for each other on a machine that has other work
(seconds instead of half a second). Whoever set them otherwise keeps that."""

COMMANDS: dict[str, str] = {
    "tour": "build the demo book and walk the whole loop in it",
    "board": "add a board from its file, or list the boards",
    "state": "what is fitted and set, what is unknown, what is out of limits",
    "move": "say what moved: bus 40 | x4 | wb on | jp7 2-3 | back to 38",
    "log": "say what happened: w2 23.5 23.6 | hang memcount | starts 3/5 cold",
    "undo": "take back the last entry, or the one named",
    "card": "safety and timing card before a part is fitted or a jumper moved",
    "forecast": "seal a forecast for the state as set, or for a state described",
    "now": "what now: the next run with minutes, moves, odds, and why",
    "why": "where the difference of two runs comes from",
    "sick": "symptoms and test results of an ailing board",
    "substitute": "what may stand in for a part, on what condition, and what shows it",
    "electric": "volts, heat, loads, cells and shorts worked out from your figures",
    "read": "read evidence: firmware images, clock RAM, serial data, dumps, logs",
    "standings": "all boards, ties, and what cannot be compared",
    "proof": "what 0 of 60 proves, whether two rows differ, how many runs it takes",
    "claim": "check a sentence or a script against the book",
    "sweep": "enter or read a bandwidth sweep: levels, sizes, clocks for each line",
    "publish": "a record anyone can check: page, paper, stills for film, public data file",
    "repeat": "check somebody's public file, load its board, set the same state",
    "shelf": "where the boards are, what they wait for, what is due",
    "worth": "landed cost and highest bid of an offer, and what moves the bid most",
    "swap": "what other cache chips, memory or policies would do, before anything is pulled",
    "profile": "make a profile of your own program from a trace of its memory references",
    "serve": "the bench page: this machine, or phones too with --lan",
    "book": "verify | backup | merge | export | import | rebuild | redact",
}

EPILOG = """Start: leadoff tour. Then: leadoff board add my-board.toml, leadoff log MY-BOARD w2 23.5,
leadoff forecast MY-BOARD --want "bus 40". Every command has examples: leadoff log -h. Completion of words:
leadoff --completion bash|zsh|fish."""


class LazyGroup(click.Group):
    """A group that knows its commands' one-line helps and imports a command only to run it."""

    def list_commands(self, ctx: click.Context) -> list[str]:
        return list(COMMANDS)

    def get_command(self, ctx: click.Context, cmd_name: str) -> click.Command | None:
        if cmd_name not in COMMANDS:
            return None
        module = importlib.import_module(f"leadoff.doors.cli.{cmd_name}")
        command: click.Command = module.command
        return command

    def format_commands(self, ctx: click.Context, formatter: click.HelpFormatter) -> None:
        with formatter.section("Commands"):
            formatter.write_dl(list(COMMANDS.items()))

    def resolve_command(
        self, ctx: click.Context, args: list[str]
    ) -> tuple[str | None, click.Command | None, list[str]]:
        name = args[0] if args else ""
        if name and not name.startswith("-") and name not in COMMANDS:
            import difflib

            near = difflib.get_close_matches(name, COMMANDS, n=1)
            hint = f'did you mean "leadoff {near[0]}"?' if near else "leadoff -h lists the commands"
            raise click.UsageError(f'there is no command "{name}": {hint}', ctx)
        return super().resolve_command(ctx, args)


def _completion(ctx: click.Context, param: click.Parameter, value: str | None) -> None:
    if not value:
        return
    from click.shell_completion import get_completion_class

    made = get_completion_class(value)
    assert made is not None
    click.echo(made(ctx.command, {}, "leadoff", "_LEADOFF_COMPLETE").source())
    ctx.exit()


@click.group(
    cls=LazyGroup,
    epilog=EPILOG,
    context_settings={"help_option_names": ["-h", "--help"], "max_content_width": 100},
)
@click.version_option(__version__, prog_name="leadoff", message="%(prog)s %(version)s")
@click.option(
    "--completion",
    type=click.Choice(["bash", "zsh", "fish"]),
    callback=_completion,
    expose_value=False,
    is_eager=True,
    help="Print the completion script of a shell.",
)
def group() -> None:
    """Tells what a vintage board will score before you touch a jumper, and what you may say afterwards."""


_COMMON = {"--book": 2, "--at": 2, "--rows": 2, "--json": 1}
"""Options that every command has, with the words each takes."""
_GROUPS = ("board", "book")


def common_behind(argv: list[str]) -> list[str]:
    """The same call with common options that stand before the command put behind it, where commands read them."""
    rest, early = list(argv), list[str]()
    names = list[str]()
    while rest and (not names or (len(names) == 1 and names[0] in _GROUPS)):
        word = rest[0]
        option, value_inside, _ = word.partition("=")
        if option in _COMMON:
            takes = 1 if value_inside else _COMMON[option]
            early += rest[:takes]
            del rest[:takes]
        elif word.startswith("-"):
            return list(argv)
        else:
            names.append(rest.pop(0))
    return [*names, *early, *rest]


def main(args: list[str] | None = None) -> Any:
    """Run; exit 0, 1 for the user's case, 2 for a bug of ours."""
    from leadoff.record.errors import LeadoffError

    for name in ONE_THREAD:
        os.environ.setdefault(name, "1")
    argv = common_behind(sys.argv[1:] if args is None else args)
    as_json = "--json" in argv
    try:
        code = group.main(args=argv, prog_name="leadoff", standalone_mode=False)
    except click.exceptions.NoArgsIsHelpError as error:
        click.echo(error.format_message())
        code = 0
    except (click.ClickException, LeadoffError) as error:
        from leadoff.doors.cli.failing import tell

        code = tell(error, argv, as_json=as_json)
    except (click.Abort, KeyboardInterrupt):
        click.echo("stopped; what was written before stays written", err=True)
        code = 1
    except BrokenPipeError:
        code = 0
    except Exception as error:
        from leadoff.doors.cli.failing import bug

        code = bug(error, argv, as_json=as_json)
    sys.exit(code if isinstance(code, int) else 0)
