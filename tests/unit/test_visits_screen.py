"""What the screen says of the visits of a year is what their table has."""

import csv

from sim import cli


def test_each_visit_with_work_has_a_line_with_all_its_tasks(tmp_path, capsys):
    assert cli.main(["visits", "cottage", "--from", "2027-01-01", "--out", str(tmp_path)]) == 0
    printed = capsys.readouterr().out.splitlines()
    with (tmp_path / "visits.csv").open(encoding="utf-8", newline="") as file:
        rows = list(csv.DictReader(file))
    dated: dict[tuple[str, str], list[str]] = {}
    for row in rows:  # a visit with work for two sheets has a row for each
        dated.setdefault((row["date"], row["who"]), []).extend(row["tasks"].split("; "))
    work = {key: tasks for key, tasks in dated.items() if set(tasks) != {"read the gauges"}}
    lines = [line for line in printed if line.startswith("  ")]
    assert len(lines) == len(work) > 0
    for (on, who), tasks in work.items():
        (line,) = [one for one in lines if f" {on}  {who}: " in one]
        assert all(task in line for task in tasks)
