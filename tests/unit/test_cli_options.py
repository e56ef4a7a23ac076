"""Every command takes the options it uses and no others; what it does not use is refused, not ignored."""

import argparse
import subprocess
import sys

import pytest

from sim import cli
from sim.commands.check import FAILS

SMALL = ["cottage", "--years", "1"]
SEARCH = [*SMALL, "--replications", "2", "--worth", "400", "--workers", "1"]
COMMANDS = {  # words that are quick to do
    "compare": [*SMALL, "--replications", "1", "--policy", "nothing done", "--workers", "1"],
    "run": SMALL,
    "skip": [*SMALL, "--replications", "1", "--workers", "1"],
    "visits": ["cottage"],
    "check": ["cottage"],
    "size": [*SEARCH, "--try", "uv.rated_flow=6 gpm,8 gpm", "--policy", "nothing done"],
    "tune": [*SEARCH, "--only", "replace lamp"],
}


class Noted(argparse.Namespace):
    """Options that note which of them were looked at."""

    def __getattribute__(self, name):
        values = object.__getattribute__(self, "__dict__")
        if name in values:
            values["_looked_at"].add(name)
        return object.__getattribute__(self, name)


@pytest.mark.parametrize("command", sorted(COMMANDS))
def test_every_option_of_a_command_is_used(command, tmp_path, capsys):
    words = [command, *COMMANDS[command]]
    options = cli.parser().parse_args(words)
    if hasattr(options, "out"):
        options.out = tmp_path
    given = vars(options)
    noted = Noted(**given)
    vars(noted)["_looked_at"] = set()
    assert cli._command(command)(noted) == (FAILS if command == "check" else 0)
    capsys.readouterr()
    assert set(given) - vars(noted)["_looked_at"] - {"command", "each", "known"} == set()


def test_the_check_sees_an_option_that_is_not_used():
    noted = Noted(site=None, units="us", _looked_at=set())
    assert noted.site is None
    assert vars(noted)["_looked_at"] == {"site"}


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (["size", "--uncertain", "60"], "unrecognized arguments: --uncertain"),
        (["size", "--known", "nonsense"], "unrecognized arguments: --known"),
        (["tune", "--each", "4"], "unrecognized arguments: --each"),
        (["run", "--units", "si"], "unrecognized arguments: --units"),
        (["run", "--workers", "2"], "unrecognized arguments: --workers"),
        (["skip", "--scheduler", "tcp://a:1"], "unrecognized arguments: --scheduler"),
        (["check", "--out", "x"], "unrecognized arguments: --out"),
        (["visits", "--draws", "x.csv"], "unrecognized arguments: --draws"),
        (["visits", "--rain", "x.csv"], "unrecognized arguments: --rain"),
        (["visits", "--seed", "3"], "unrecognized arguments: --seed"),
        (["study", "plan"], "argument COMMAND: invalid choice: 'study'"),
    ],
)
def test_an_option_that_a_command_does_not_use_is_refused(words, said, capsys):
    with pytest.raises(SystemExit) as stop:
        cli.main(words)
    assert stop.value.code == 2
    told = capsys.readouterr().err
    assert said in told
    assert told.count("\n") == 1


@pytest.mark.parametrize("words", [["--each", "6"], ["--known", "house.leak"]])
def test_options_of_draws_are_refused_without_draws(words, tmp_path, capsys):
    assert cli.main(["compare", *words, "--out", str(tmp_path / "out")]) == 2
    assert f"{words[0]} is of no use without --uncertain" in capsys.readouterr().err
    assert not (tmp_path / "out").exists()


def test_a_comparison_loads_no_streamlit(tmp_path):
    program = (
        "import sys\nfrom sim import cli\nassert cli.main(sys.argv[1:]) == 0\n"
        "loaded = {name.partition('.')[0] for name in sys.modules}\n"
        "assert 'plotly' in loaded  # the report was made\n"
        "assert loaded.isdisjoint({'streamlit', 'dashboard'})\n"
    )
    words = ["compare", *COMMANDS["compare"], "--out", str(tmp_path)]
    done = subprocess.run(
        [sys.executable, "-c", program, *words], capture_output=True, text=True, check=False
    )
    assert done.returncode == 0, done.stderr
    assert (tmp_path / "report.html").exists()


def test_help_loads_nothing_of_a_scenario_but_the_keys_it_tells_of():
    code = "import sys, sim.cli; sim.cli.parser(); print(*(m for m in sys.modules if 'scenario.' in m))"
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.split() == ["sim.scenario.quotation_keys"]
