"""What no input may do: hang, fill the memory, end in a traceback, or speak to the terminal in its place."""

import os
import signal
import subprocess
import sys
import time
from pathlib import Path

import pytest

from sim.cli import main
from sim.scenario.read.content import MOST_BYTES
from tests.hostile.attack import deadline

SHORT = ["--years", "1", "--replications", "2", "--workers", "1"]
SPECIAL = {
    "endless": lambda path: Path("/dev/zero"),
    "pipe": lambda path: os.mkfifo(path) or path,
    "folder": lambda path: path.mkdir() or path,
    "large": lambda path: path.touch() or os.truncate(path, MOST_BYTES + 1) or path,
}
RECORDS = [["check", "--rain"], ["check", "--draws"], ["compare", "--draws"], ["check"]]
RECORDS += [["readings", "add", "--from"]]


def refused(words, capsys):
    """Return the one line a command is refused in, before it has printed or made anything."""
    with deadline(30):
        try:
            code = main(list(map(str, words)))
        except SystemExit as stop:
            code = stop.code
    out, err = capsys.readouterr()
    assert (code, out, err.count("\n")) == (2, "", 1), err[:500]
    assert err.startswith("cisterntwin: ") and err.removesuffix("\n").isprintable()
    return err


@pytest.mark.skipif(not hasattr(os, "mkfifo"), reason="no such files here")
@pytest.mark.parametrize("words", RECORDS, ids=" ".join)
@pytest.mark.parametrize("kind", SPECIAL)
def test_only_a_file_on_disk_is_read(kind, words, tmp_path, capsys, monkeypatch):
    monkeypatch.chdir(tmp_path)
    path = SPECIAL[kind](tmp_path / "me.toml")
    said = refused([*words, path], capsys)
    wanted = {"endless": "is a pipe or a device", "pipe": "is a pipe or a device", "folder": "is a folder"}
    assert wanted.get(kind, "MB; wanted a smaller file") in said


@pytest.mark.skipif(not Path("/dev/fd").exists(), reason="no such files here")
def test_draws_from_a_pipe_are_refused_as_they_could_be_read_once_only(capsys):
    reader, writer = os.pipe()
    os.write(writer, b"start,use,duration_s\n0,toilet,30\n")
    os.close(writer)
    assert "is a pipe or a device; wanted a CSV file on disk" in refused(
        ["check", "--draws", f"/dev/fd/{reader}"], capsys
    )
    os.close(reader)


EMPTY = [
    ["check", ""], ["check", " "], ["compare", "--out", ""], ["run", "--policy", ""],
    ["compare", "--reference", ""],
    ["compare", "--policy", " "], ["compare", "--scheduler", ""], ["check", "--rain", ""],
    ["run", "--draws", ""],
    ["visits", "--from", ""], ["visits", "--zone", ""], ["today", "--on", ""], ["today", "--diary", ""],
    ["skip", "--task", ""], ["size", "--try", ""], ["tune", "--only", ""],
    ["readings", "add", "", "UV", "7 %"],
]  # fmt: skip


@pytest.mark.parametrize("words", EMPTY, ids=" ".join)
def test_an_empty_argument_does_not_stand_for_the_default(words, capsys, tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    assert "is empty; wanted a value, or no such argument" in refused(words, capsys)
    assert list(tmp_path.iterdir()) == []


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (["--uncertain", "100000000"], "uncertain is 100000000; wanted 2,000 at most"),
        (["--uncertain", "4", "--each", "100000000"], "each is 100000000; wanted 1,000,000 at most"),
        (["--draws-repeat"], "--draws-repeat is of no use without --draws FILE"),
    ],
)
def test_more_than_any_machine_has_is_refused_before_it_is_made(words, said, capsys, tmp_path):
    assert said in refused(["compare", "cottage", *words, "--out", tmp_path / "out"], capsys)


@pytest.mark.parametrize(
    "address",
    ["tcp://:8786", "http://h:1", "inproc://h:1", "ucx://h:1", "tcp://h:99999", "tcp://h:0",
    "tcp://[::1:1", "h:8786",
     "tcp://a:1/b:2", "tcp://u@h:1", "tcp://a b:1", "tcp://\x1b[2J:1", "tls://127.0.0.1:1"],
)  # fmt: skip
def test_a_bad_address_of_a_scheduler_is_one_line(address, capsys, tmp_path):
    pytest.importorskip("distributed")
    words = ["compare", "cottage", *SHORT, "--policy", "nothing done", "--scheduler", address]
    said = refused([*words, "--out", tmp_path], capsys)
    assert "wanted" in said and "scheduler" in said


ALTERNATIVES = {
    'key = "pump.colour"\nvalues = ["red"]': "alternative[pump.colour]: pump.colour: is not a known key",
    'key = "uv.rated_flow"\nvalues = ["9 psi"]': "uv.rated_flow: read '9 psi', which is pressure",
    'key = "uv.rated_flow"\nvalues = ["9 gpm", "9 gpm"]': "a value stands twice",
    'key = "uv.rated_flow"\nvalues = [true]': "uv.rated_flow: read true",
    'key = "stage.sand.size"\nvalues = ["4.5x10"]': "alternative[stage.sand.size]",
    'key = "]["\nvalues = [1]': "is no key",
}


@pytest.mark.parametrize(("text", "said"), ALTERNATIVES.items())
def test_alternatives_that_will_not_do_are_refused_by_the_check(text, said, tmp_path, capsys):
    (tmp_path / "me.toml").write_text(f'extends = "cottage"\n[[alternative]]\n{text}\n')
    assert said in refused(["check", tmp_path / "me.toml"], capsys)


def test_words_of_a_site_do_not_speak_to_the_terminal(tmp_path, capsys):
    text = 'extends = "cottage"\nsummary = "a\\u001b[2Jb\\u0007c\\u202ed\\u009be"\n'
    (tmp_path / "me.toml").write_text(text)
    assert main(["check", str(tmp_path / "me.toml")]) == 3  # read; a criterion fails
    shown = capsys.readouterr().out
    assert ": a [2Jb c d e\n" in shown
    assert all(line.isprintable() for line in shown.splitlines())


def child(words, **more):
    return subprocess.Popen(
        [sys.executable, "-m", "sim.cli",
        *words], stderr=subprocess.PIPE, text=True, start_new_session=True, **more
    )  # fmt: skip


@pytest.mark.skipif(not Path("/dev/full").exists(), reason="no full disk to write to")
@pytest.mark.parametrize("words", [["check", "cottage"]], ids=" ".join)
def test_a_full_disk_under_what_is_printed_is_one_line(words, tmp_path):
    environment = os.environ | {"PYTHONPATH": str(Path(__file__).parents[2])}
    with open("/dev/full", "w") as full, child(words, stdout=full, cwd=tmp_path, env=environment) as process:
        said = process.communicate(timeout=120)[1]
    assert process.returncode == 2
    assert said == "cisterntwin: what is printed cannot be written or read: No space left on device\n"


@pytest.mark.skipif(os.name != "posix", reason="sends the interrupt of a terminal, to all its processes")
@pytest.mark.parametrize("times", [2, pytest.param(40, id="many", marks=pytest.mark.long)])
def test_an_interrupt_while_workers_start_is_one_line(times, tmp_path):
    words = ["compare", "cottage", "--years", "1", "--replications", "40", "--workers", "2"]
    for number in range(times):
        with child([*words, "--out", str(tmp_path)], stdout=subprocess.DEVNULL) as process:
            time.sleep(1.2 + 3.0 * number / times)
            os.killpg(process.pid, signal.SIGINT)
            said = process.communicate(timeout=120)[1]
        # As a signal where the interpreter was within compiled text; a shell shows 130 either way.
        assert process.returncode in (130, -signal.SIGINT, 0), said
        told = [line for line in said.splitlines() if "were finished before" not in line and line.strip()]
        assert all(line.startswith("cisterntwin: interrupted") for line in told), said
        assert len(told) <= 1
