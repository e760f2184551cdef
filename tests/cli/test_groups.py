"""Commands that are not there: one sentence with the nearest word, and where to look."""

from __future__ import annotations

import click
import pytest
from click.testing import CliRunner
from rindwright.cli.groups import HERE, LazyGroup
from rindwright.cli.main import cli, main

WRONG = [
    (["askk"], 'There is no command "askk" (did you mean "ask"?). Try: rindwright --help'),
    (["past", "shw"], 'There is no command "shw" (did you mean "show"?). Try: rindwright past --help'),
    (["rules", "tri"], 'There is no command "tri" (did you mean "try"?). Try: rindwright rules --help'),
    (["sums", "brine", "mak"], 'There is no command "mak" (did you mean "make"?). Try: rindwright sums brine --help'),
    (["knowledge", "x"], 'There is no command "x"; there are check. Try: rindwright knowledge --help'),
]


@pytest.mark.parametrize(("words", "sentence"), WRONG, ids=[" ".join(words) for words, _ in WRONG])
def test_a_wrong_command_is_one_sentence(
    words: list[str], sentence: str, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setattr("sys.argv", ["rindwright", *words])
    with pytest.raises(SystemExit) as ended:
        main()
    assert (ended.value.code, capsys.readouterr().err.strip()) == (2, sentence)


def commands(group: click.Group, path: str = "") -> list[str]:
    context = click.Context(group)
    found = []
    for name in group.list_commands(context):
        command = group.get_command(context, name)
        assert command is not None, f"{path} {name} is listed and not there"
        found.append(f"{path} {name}".strip())
        if isinstance(command, click.Group):
            found.extend(commands(command, f"{path} {name}".strip()))
            kept = set(command.commands) if not isinstance(command, LazyGroup) else set()
            assert kept <= set(command.list_commands(context)), f"{name} hides a command"
    return found


def test_every_command_is_listed_and_explains_itself() -> None:
    every = commands(cli)
    assert len(every) > 50
    for path in every:
        shown = CliRunner().invoke(cli, [*path.split(), "--help"])
        assert (shown.exit_code, "Usage:" in shown.output) == (0, True), path


def test_a_place_that_is_no_command_is_none() -> None:
    group = LazyGroup("group", places={"here": HERE, "status": "status:Status"})
    context = click.Context(group)
    assert group.get_command(context, "here") is None
    assert group.get_command(context, "status") is None


@pytest.mark.parametrize("columns", [40, 60, 80])
def test_help_is_as_wide_as_the_screen(columns: int, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("COLUMNS", str(columns))
    for path in ("", *commands(cli)):
        shown = CliRunner().invoke(cli, [*path.split(), "--help"], prog_name="rindwright").output
        for line in shown.splitlines():
            assert len(line) <= columns, (path, line)
        if path == "sums logger":
            assert max(len(line) for line in shown.splitlines()) > 0.9 * columns
