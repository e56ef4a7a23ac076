"""`compare` of many sites: what is printed when it was stopped before the last."""

import pytest

from sim import cli
from sim.commands import batch
from sim.errors import Interrupted


@pytest.fixture
def stop(monkeypatch):
    """Stop the study before any run of the site of that name."""
    whole = batch.ask

    def at(name):
        def ask(question, means):
            if question.site.scenario.name == name:
                raise Interrupted("interrupted before any run was finished; nothing was written")
            return whole(question, means)

        monkeypatch.setattr(batch, "ask", ask)

    return at


def many(folder):
    sites = []
    for name in ("one", "two", "three"):
        sites.append(str(folder / f"{name}.toml"))
        (folder / f"{name}.toml").write_text(f'extends = "cottage"\nname = "{name}"\n', encoding="utf-8")
    return cli.main(["compare", *sites, "--years", "1", "--replications", "2", "--policy", "as things fail",
                     "--workers", "1", "--out", str(folder / "out")])  # fmt: skip


def test_a_table_that_is_not_whole_says_so(tmp_path, capsys, stop):
    stop("two")
    assert many(tmp_path) == cli.INTERRUPTED
    told = capsys.readouterr()
    assert "Interrupted: 1 of 3 sites were finished and are kept; the same command goes on" in told.out
    assert "nothing was written" not in told.err
    assert (tmp_path / "out" / "one" / "row.json").exists()
    stop("nobody")
    assert many(tmp_path) == cli.DONE
    assert "Interrupted" not in capsys.readouterr().out


def test_stopped_at_the_first_site_no_empty_table_is_shown(tmp_path, capsys, stop):
    stop("one")
    assert many(tmp_path) == cli.INTERRUPTED
    told = capsys.readouterr()
    assert told.out == ""
    assert "before any site was finished; the same command goes on" in told.err
