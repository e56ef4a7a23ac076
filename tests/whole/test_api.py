"""The names a program may call, the study told in DEVELOPERS, and `compare` on many sites."""

import json
import re
import runpy
from dataclasses import replace
from pathlib import Path

import pandas as pd
import pytest

from sim import api, cli
from sim.commands import batch
from sim.errors import InputError
from sim.study.compare.question import CompareQuestion
from sim.units import PSI_PA

ROOT = Path(__file__).parents[2]
TOLD = "## From Python"


def study():
    """Return the study that DEVELOPERS tells."""
    text = (ROOT / "DEVELOPERS.md").read_text("utf-8")
    return re.search(r"```python\n(.*?)```", text[text.index(TOLD) :], re.DOTALL)[1]


def test_every_name_is_told_and_there_are_a_dozen():
    text = (ROOT / "DEVELOPERS.md").read_text("utf-8")
    part = text[text.index(TOLD) :].split("\n## ")[0]
    assert len(api.__all__) == 12
    for name in api.__all__:
        assert hasattr(api, name)
        assert f"`{name}" in part or f" {name}" in study()


def test_the_study_that_is_told_runs_and_is_short(capsys):
    code = study()
    assert len(code.strip().splitlines()) <= 15
    exec(compile(code, "DEVELOPERS.md", "exec"), {})
    assert "USD" in capsys.readouterr().out


def test_the_first_study_runs_as_a_script():
    found = runpy.run_path(str(ROOT / "tests" / "first_study.py"))
    assert found["failing"]
    assert {name: cost.known for name, cost in found["costs"].items()} == {"as it is": True, "larger": True}
    assert found["wettest_m"] > 0
    assert found["larger"].scenario.stages[0].size == "4.5x20"


def test_what_python_answers_is_what_the_command_answers(tmp_path):
    words = ["compare", "cottage", "--years", "1", "--replications", "3", "--policy", "as things fail"]
    assert cli.main([*words, "--workers", "1", "--out", str(tmp_path)]) == 0
    written = pd.read_csv(tmp_path / "rows.csv")["cost"]
    report = (tmp_path / "report.html").read_text("utf-8")
    assert "The design on paper" in report and "flow through the UV unit" in report
    answer = api.compare(api.load("cottage"), ["as things fail"], years=1, replications=3)
    assert list(answer.rows["cost"]) == pytest.approx(list(written), rel=1e-12)


def test_sizes_and_intervals_together_are_those_of_the_command(tmp_path):
    tries, dial, policy = "pressure_tank.volume=100 L,160 L", "replace lamp", "by the calendar"
    words = ["size", "cottage", "--years", "1", "--replications", "2", "--policy", policy, "--try", tries]
    words += ["--with-intervals", dial, "--limit-tap", "5 psi", "--worth", "500", "--workers", "1"]
    assert cli.main([*words, "--out", str(tmp_path)]) == 0
    answer = api.size(
        api.load("cottage"), [tries], [policy], worth=500.0, years=1, replications=2,
        limit_tap_pa=5 * PSI_PA, intervals=[dial],
    )  # fmt: skip
    written = pd.read_csv(tmp_path / "designs.csv")
    assert list(answer.study.lines["policy"]) == list(written["policy"])
    assert list(answer.study.lines["cost"]) == pytest.approx(list(written["cost"]), rel=1e-12)
    assert written["policy"].nunique() > 1


def test_a_value_that_will_not_do_is_refused():
    with pytest.raises(InputError, match="stage"):
        api.changed(api.load("cottage"), {"stage.sedment.size": "4.5x20"})


@pytest.fixture
def sites(tmp_path):
    files = []
    for name, people in (("elm", 2), ("oak", 3)):
        file = tmp_path / f"{name}.toml"
        file.write_text(f'extends = "cottage"\nname = "{name}"\n[house]\npeople = {people}\n', "utf-8")
        files.append(str(file))
    return files


def test_many_sites_give_a_row_each_and_finished_ones_are_not_run_again(sites, tmp_path, capsys):
    out = tmp_path / "out"
    words = ["compare", *sites, "--years", "1", "--replications", "2", "--workers", "1",
             "--policy", "as things fail", "--out", str(out)]  # fmt: skip
    assert cli.main(words) == 0
    said = capsys.readouterr().out
    assert "elm" in said and "oak" in said
    table = pd.read_csv(out / "sites.csv")
    assert list(table["site"]) == ["elm", "oak"]
    row = out / "elm" / "row.json"
    told = json.loads(row.read_text("utf-8"))
    told["row"]["cost"] = "kept from before"  # so that a second run would show
    row.write_text(json.dumps(told), "utf-8")
    assert cli.main(words) == 0
    again = pd.read_csv(out / "sites.csv")
    assert list(again["cost"]) == ["kept from before", table["cost"][1]]
    asked = CompareQuestion(site=api.load(sites[0]), policies=("as things fail",), years=1, replications=2)
    assert batch._kept(out / "elm", asked) is not None
    assert batch._kept(out / "elm", replace(asked, years=2)) is None  # another question: nothing answers it


@pytest.mark.parametrize(
    ("more", "said"),
    [
        (["no_such.toml"], "no such file"),
        (["cottage", "cottage"], "two sites have the same file name"),
        (["cottage", "--uncertain", "3"], "--uncertain goes with one site"),
    ],
)
def test_a_batch_that_cannot_be_made_is_refused_before_any_run(sites, more, said, tmp_path, capsys):
    words = ["compare", *sites, *more, "--years", "1", "--out", str(tmp_path / "out")]
    assert cli.main(words) == 2
    shown = capsys.readouterr()
    assert said in shown.err and shown.err.count("\n") == 1
    assert not (tmp_path / "out").exists()
