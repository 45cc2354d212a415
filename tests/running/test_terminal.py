"""What a person reads on a terminal: what needs attention, the worst first; colour there and nowhere else."""

from __future__ import annotations

import io
import os
import subprocess
import sys
from pathlib import Path

import pytest

from vibcal_nb.metrology.conformity.decision import VERDICTS
from vibcal_nb.running.commands.attention import list_attention, say_attention
from vibcal_nb.running.commands.cli import COMMANDS, EXAMPLES, main
from vibcal_nb.running.commands.terminal import is_coloured, say_verdict
from vibcal_nb.running.fleet.make_record import Outcome
from vibcal_nb.running.fleet.record_path import RecordCase


def outcome(verdict, *, channel="V11", analysis="channel-verdict", condition="as-found", date="2026-05-19", gates=()):
    case = RecordCase(
        results_folder=Path("records") / date,
        asset="STG-1",
        visit=date,
        channel=channel,
        analysis=analysis,
        condition=condition,
    )
    summary = {"date": date, "gates": list(gates), "sentence": f"{channel} {verdict}", "next_step": "Do it."}
    return Outcome(case=case, result={"verdict": verdict, "summary": summary})


def who(*outcomes):
    return [(entry.who, entry.verdict) for entry in list_attention(outcomes)]


def test_the_worst_stands_first_and_what_passes_is_not_named():
    made = [outcome(verdict, channel=f"V{number}") for number, verdict in enumerate(VERDICTS)]
    assert [verdict for _, verdict in who(*made)] == ["fail", "conditional fail", "not verified"]


def test_protection_that_is_not_proved_back_stands_before_what_fails():
    made = [
        outcome("fail", channel="V11"),
        outcome("not verified", channel="V12", gates=["readings left out"]),
        outcome("not verified", channel="V31", gates=["readings left out", "not proved back in service"]),
        outcome("conditional fail", channel="V32", gates=["not proved back in service"]),
    ]
    assert [name for name, _ in who(*made)] == ["STG-1 V32", "STG-1 V31", "STG-1 V11", "STG-1 V12"]


def test_a_channel_stands_once_by_its_own_verdict():
    assert who(outcome("fail", analysis="linearity"), outcome("fail")) == [("STG-1 V11", "fail")]


def test_as_left_counts_where_it_was_read():
    assert who(outcome("fail"), outcome("pass", condition="as-left")) == []


def test_the_latest_visit_counts():
    assert who(outcome("fail", date="2024-05-21"), outcome("pass", date="2026-05-19")) == []


def test_a_drift_counts_where_it_fails_beside_the_channel_that_passes():
    assert who(outcome("pass"), outcome("not verified", analysis="drift")) == []
    assert who(outcome("pass"), outcome("fail", analysis="drift")) == [("STG-1 V11", "fail")]


def test_each_entry_says_why_what_to_do_and_where(capsys):
    say_attention([outcome("fail")])
    assert capsys.readouterr().out == (
        "\nWhat needs attention, the worst first\n  fail  STG-1 V11: V11 fail\n      do: Do it.\n"
        "      see: records/2026-05-19/V11/channel-verdict.as-found.ipynb\n"
    )


class Terminal(io.StringIO):
    def isatty(self):
        return True


@pytest.fixture
def plain(monkeypatch):
    for name in ("NO_COLOR", "TERM"):
        monkeypatch.delenv(name, raising=False)
    monkeypatch.setenv("WT_SESSION", "1")
    return monkeypatch


def test_colour_stands_on_a_terminal_alone(plain):
    assert is_coloured(Terminal())
    assert not is_coloured(io.StringIO())


@pytest.mark.parametrize(("name", "value"), [("NO_COLOR", "1"), ("TERM", "dumb")])
def test_who_asks_for_no_colour_gets_none(plain, name, value):
    """NO_COLOR as no-color.org states it: set and not empty."""
    plain.setenv(name, value)
    assert not is_coloured(Terminal())
    plain.setenv("NO_COLOR", "")
    plain.delenv("TERM", raising=False)
    assert is_coloured(Terminal())


def test_a_verdict_is_coloured_and_a_text_cannot_command_the_terminal(plain):
    stream = Terminal()
    plain.setattr(sys, "stdout", stream)
    say_verdict("fail", "  V11: \x1b[2J")
    assert stream.getvalue() == "  \x1b[31mfail\x1b[0m  V11: \\x1b[2J\n"


def test_the_version_is_told(capsys):
    with pytest.raises(SystemExit) as ended:
        main(["--version"])
    assert ended.value.code == 0
    assert capsys.readouterr().out.startswith("vibcal-nb ")


def test_help_has_an_example_of_every_command_and_the_exit_statuses(capsys):
    assert set(EXAMPLES) == set(COMMANDS)
    with pytest.raises(SystemExit):
        main(["--help"])
    said = capsys.readouterr().out
    assert all(line in said for line in EXAMPLES.values())
    assert "2  input or usage was refused" in said


def test_an_unknown_option_shows_the_usage_of_its_command(capsys):
    with pytest.raises(SystemExit) as ended:
        main(["check", "site", "--fast"])
    assert ended.value.code == 2
    said = capsys.readouterr().err
    assert said.startswith("usage: ")
    assert " check [-h]" in said
    assert "there is no --fast" in said


@pytest.mark.skipif(os.name != "posix", reason="pipes of a POSIX shell")
def test_a_pipe_that_is_closed_early_is_no_error():
    with subprocess.Popen(
        [sys.executable, "-m", "vibcal_nb", "--help"], stdout=subprocess.PIPE, stderr=subprocess.PIPE
    ) as process:
        assert process.stdout is not None
        process.stdout.close()
        assert process.stderr is not None
        assert process.stderr.read() == b""
