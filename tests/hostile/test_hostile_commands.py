"""Command lines nobody should type: an exit code and one line, and a folder with all files or none."""

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from sim.cli import main
from sim.commands.check import FAILS
from tests.hostile import attack
from tests.kept_files import COMPARISON

pytestmark = pytest.mark.filterwarnings("ignore:Generating overly large repr")
OPTIONS = [
    "--years",
    "--seed",
    "--replications",
    "--replication",
    "--workers",
    "--within",
    "--policy",
    "--reference",
]
OPTIONS += ["--units", "--rain", "--draws", "--help", "--version", "--nonsense", "--"]
WORDS = [
    *(
        "0",
        "1",
        "-1",
        "2",
        "999999999999",
        "9" * 5000,
        "1e3",
        "nan",
        "inf",
        "-inf",
        "",
        " ",
        "a\nb",
        "\x00",
        "\x1b[2J",
    ),
    *(
        "x" * 5000,
        "é",
        "\udcff",
        "cottage",
        "nothing done",
        "si",
        "us",
        "/dev/null",
        ".",
        "..",
        "no/such/file.csv",
        "[red]",
    ),
]
TABLES = ("draws", "pump", "days", "events")
WRITTEN = {
    "run": {"manifest.json", *(f"{name}.{kind}" for name in TABLES for kind in ("csv", "parquet"))},
    "compare": set(COMPARISON),
}
COMMANDS = ["run", "compare", "check", "", "cmpare"]


@st.composite
def lines(draw):
    words = draw(st.lists(st.tuples(st.sampled_from(OPTIONS), st.sampled_from(WORDS)), max_size=3))
    site = draw(
        st.sampled_from([[], [], ["cottage"], ["nonesuch"], ["x" * 5000], ["\x00"], ["a\nb.toml"], ["/"]])
    )
    return draw(st.sampled_from(COMMANDS)), [*site, *(word for pair in words for word in pair)]


def asked(command, words, folder, capsys):
    """Run a line in a folder of its own; the shortest study stands last, so that what is valid is quick."""
    short = {"run": ["--years", "1"], "compare": ["--years", "1", "--replications", "1", "--workers", "1"]}
    out = folder / "out"
    given = [command, *short.get(command, []), *words]
    given += ["--out", str(out)] if command in short else []
    with attack.deadline(60):
        try:
            code = main(given)
        except SystemExit as stop:  # help, version and what the parser refuses
            code = stop.code
    said = capsys.readouterr().err
    assert code in ((0, 2, FAILS) if command == "check" else (0, 2)), (given, code, said[:300])
    if code == 2:
        assert len(said.strip().splitlines()) == 1, said[:300]
    files = {path.name for path in out.iterdir()} if out.exists() else set()
    assert not files or (code == 0 and files == WRITTEN[command]), files


@settings(max_examples=150, **attack.FULL)
@given(line=lines())
def test_a_hostile_line_is_refused_or_done(line, tmp_path_factory, capsys):
    asked(*line, tmp_path_factory.mktemp("line"), capsys)


@pytest.mark.long
@pytest.mark.parametrize("part", range(10))
def test_three_thousand_hostile_lines(part, tmp_path_factory, capsys, record_property):
    tried = attack.many(
        300, part, lambda line: asked(*line, tmp_path_factory.mktemp("line"), capsys), line=lines()
    )
    record_property("command lines", tried)
    assert tried == 300


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (["compare", "--within", "inf"], "within is inf"),
        (["compare", "--replications", "999999999999"], "at most"),
        (["compare", "--workers", "100000"], "at most"),
        (["run", "--years", "9999"], "wanted 50 at most"),
        (["check", "x" * 5000], "no such scenario or file"),
        (["check", "\x00"], "no such scenario or file"),
        (["run", "--out", "x" * 5000], "cannot be written to"),
        (["run", "--out", "a\x00b"], "cannot be written to"),
    ],
)
def test_what_was_found_stays_refused(words, said, capsys):
    assert main(words) == 2
    line = capsys.readouterr().err
    assert said in line
    assert len(line.strip().splitlines()) == 1
