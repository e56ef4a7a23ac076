"""What the command line says and returns when the input is at fault: one line, before any work."""

import subprocess
import sys

import pytest

from sim import cli
from sim.commands.check import FAILS

COMPARE = ["compare", "--workers", "1"]


def said(capsys, arguments: list[str]) -> tuple[int, str]:
    try:
        code = cli.main(arguments)
    except SystemExit as stop:  # how argparse leaves
        code = int(stop.code or 0)
    captured = capsys.readouterr()
    assert captured.out == ""
    assert captured.err.count("\n") == 1, captured.err
    assert captured.err.startswith("cisterntwin: ")
    return code, captured.err


@pytest.mark.parametrize(
    ("words", "told"),
    [
        (["--years", "0"], "years is 0; wanted 1 or more"),
        (["--years", "-2"], "years is -2; wanted 1 or more"),
        (["--replications", "0"], "replications is 0; wanted 1 or more"),
        (["--replications", "-1"], "replications is -1; wanted 1 or more"),
        (["--workers", "0"], "workers is 0; wanted 1 or more"),
        (["--seed", "-1"], "seed is -1; wanted 0 or more"),
        (["--within", "0"], "within is 0; wanted an amount of money above 0"),
        (["--within", "nan"], "within is nan; wanted an amount of money above 0"),
        (["--policy", "by the calender"], "did you mean 'by the calendar'?"),
        (["--reference", "by the calender"], "did you mean 'by the calendar'?"),
        (["--rain", "no_such.csv"], "no_such.csv"),
        (["--draws", "no_such.csv"], "no_such.csv"),
        (["no_such.toml"], "no_such.toml: no such file"),
        (["--years", "two"], "--years: invalid int value"),
        (["--units", "cgs"], "--units: invalid choice"),
    ],
)
def test_bad_input_to_compare_is_one_line(words, told, capsys, tmp_path):
    code, line = said(capsys, [*COMPARE, "--out", str(tmp_path / "out"), *words])
    assert code == 2
    assert told in line
    assert not (tmp_path / "out").exists()  # refused before anything is made


@pytest.mark.parametrize(
    ("words", "told"),
    [
        (["--years", "0"], "years is 0"),
        (["--replication", "-1"], "replication is -1; wanted 0 or more"),
        (["--policy", "nothing dun"], "did you mean 'nothing done'?"),
    ],
)
def test_bad_input_to_run_is_one_line(words, told, capsys, tmp_path):
    code, line = said(capsys, ["run", "--out", str(tmp_path / "out"), *words])
    assert code == 2
    assert told in line


def test_a_file_in_place_of_the_output_folder(capsys, tmp_path):
    (tmp_path / "out").write_text("mine")
    code, line = said(capsys, [*COMPARE, "--out", str(tmp_path / "out")])
    assert code == 2
    assert "is a file; wanted a folder" in line
    assert (tmp_path / "out").read_text() == "mine"


def test_an_output_folder_that_cannot_be_made(capsys, tmp_path):
    (tmp_path / "file").write_text("mine")
    code, line = said(capsys, [*COMPARE, "--out", str(tmp_path / "file" / "out")])
    assert code == 2
    assert "cannot be written to" in line


def test_an_unknown_command(capsys):
    code, line = said(capsys, ["compair"])
    assert code == 2
    assert "compair" in line


def test_help_loads_no_heavy_module():
    program = (
        "import sys\nfrom sim import cli\n"
        "try:\n    cli.main(['compare', '--help'])\nexcept SystemExit as stop:\n    assert stop.code == 0\n"
        "heavy = {'numpy', 'pandas', 'numba', 'plotly', 'simpy', 'pydantic'} & set(sys.modules)\n"
        "assert not heavy, heavy\n"
    )
    done = subprocess.run([sys.executable, "-c", program], capture_output=True, text=True, check=False)
    assert done.returncode == 0, done.stderr
    assert "--replications" in done.stdout


def test_check_prints_figures_and_the_caution(capsys):
    assert cli.main(["check", "--units", "si"]) == FAILS
    printed = capsys.readouterr().out
    assert "drawdown of the pressure tank" in printed
    assert "gpm" not in printed
    assert "not a water test" in printed


def test_what_was_loaded_is_not_looked_through_for_garbage_as_the_process_ends():
    told = "import atexit, gc; atexit.register(lambda: print(gc.get_freeze_count())); "
    told += "from sim import cli; cli.main(['--version'])"
    run = [sys.executable, "-c", told]
    frozen = subprocess.run(run, capture_output=True, text=True, check=True).stdout.split()[-1]
    assert int(frozen) > 1_000
