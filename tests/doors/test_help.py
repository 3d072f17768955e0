"""Help: quick, complete, with an example for every command; an unknown command is named with the nearest."""

from __future__ import annotations

import subprocess
import sys

import click
import pytest

from cli_bench import run
from leadoff.doors.cli.main import COMMANDS, common_behind, group

HEAVY = ("numpy", "scipy", "sqlalchemy", "alembic", "rich", "jinja2", "psycopg")
PROBE = """
import sys
from leadoff.doors.cli.main import main
try:
    main({args})
except SystemExit:
    pass
print("LOADED", sorted(set(m.split(".")[0] for m in sys.modules) & set({heavy})))
"""


def leaves() -> list[tuple[str, ...]]:
    """Every command a person can run."""
    out: list[tuple[str, ...]] = []
    context = click.Context(group)
    for name in COMMANDS:
        command = group.get_command(context, name)
        if isinstance(command, click.Group):
            out += [(name, sub) for sub in command.commands]
        else:
            out.append((name,))
    return out


@pytest.mark.parametrize("args", [["--help"], ["state", "--help"], ["log", "-h"], ["book", "verify", "-h"]])
def test_help_loads_nothing_heavy(args: list[str]) -> None:
    code = PROBE.format(args=args, heavy=HEAVY)
    done = subprocess.run(
        [sys.executable, "-c", code], capture_output=True, text=True, timeout=60, check=True
    )
    assert done.stdout.splitlines()[-1] == "LOADED []"
    assert "Usage: leadoff" in done.stdout


@pytest.mark.parametrize("path", leaves(), ids=" ".join)
def test_every_command_has_an_example_of_itself(path: tuple[str, ...]) -> None:
    answer = run(*path, "--help")
    assert answer.code == 0
    assert "Example" in answer.out
    assert f"leadoff {' '.join(path)}" in answer.out.split("Example", 1)[1]
    assert "--json" in answer.out or path == ("serve",), "a server answers with pages and their JSON twins"


def test_the_list_names_every_command_with_its_line() -> None:
    flat = " ".join(run("--help").out.split())
    for name, text in COMMANDS.items():
        assert f"{name} {text}" in flat


def test_every_listed_command_exists_and_has_a_short_help() -> None:
    context = click.Context(group)
    for name in COMMANDS:
        command = group.get_command(context, name)
        assert command is not None
        assert command.name == name
        assert command.get_short_help_str(200)


@pytest.mark.parametrize(("typed", "meant"), [("stat", "state"), ("forcast", "forecast"), ("mvoe", "move")])
def test_an_unknown_command_suggests_the_nearest(typed: str, meant: str) -> None:
    answer = run(typed)
    assert answer.code == 1
    assert f'did you mean "leadoff {meant}"?' in " ".join(answer.err.split())


@pytest.mark.parametrize("args", [(), ("board",), ("book",)])
def test_a_bare_group_shows_its_help(args: tuple[str, ...]) -> None:
    answer = run(*args)
    assert answer.code == 0
    assert answer.out.startswith(f"Usage: {' '.join(('leadoff', *args))}")


@pytest.mark.parametrize("shell", ["bash", "zsh", "fish"])
def test_completion_scripts(shell: str) -> None:
    answer = run("--completion", shell)
    assert answer.code == 0
    assert "_LEADOFF_COMPLETE" in answer.out


def test_version() -> None:
    assert run("--version").out.startswith("leadoff ")


def test_common_options_may_stand_before_the_command() -> None:
    same = ["log", "--book", "x.db", "--json", "b", "w1", "--", "-3"]
    assert common_behind(["--book", "x.db", "--json", "log", "b", "w1", "--", "-3"]) == same
    assert common_behind(["--book=x.db", "board", "--json", "add", "f.toml"]) == [
        "board",
        "add",
        "--book=x.db",
        "--json",
        "f.toml",
    ]
    assert common_behind(["state", "b", "--json"]) == ["state", "b", "--json"]
    assert common_behind(["--version"]) == ["--version"]
    assert common_behind(["--book"]) == ["--book"]
