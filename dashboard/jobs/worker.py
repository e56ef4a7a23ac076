"""What runs beside the server: one question, asked and answered through files of one folder.

`python -m dashboard.jobs.worker FOLDER` reads `question.pickle` there, writes `progress.json` as it goes and
`result.pickle` when it is done. An interrupt keeps what was finished. The files are the server's own. It
steps back behind the server when both want a core, and ends when the server does, however that ends.
"""

import json
import os
import pickle
import signal
import sys
import threading
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any

import pandas as pd

from sim.errors import TwinError
from sim.scenario.care import Policy, Skip
from sim.scenario.read.series import RainRecord
from sim.scenario.scenario import Scenario

if TYPE_CHECKING:
    from sim.twin.common import Common

NICENESS = 15  # the pages come first
QUESTION, PROGRESS, RESULT = "question.pickle", "progress.json", "result.pickle"
CLOSE_DAYS = 28  # looked at closely at once: a click to a day nearby then needs no new run


@dataclass(frozen=True)
class Question:
    """What is asked of a worker.

    Attributes
    ----------
    kind : str
        "study", "history", "closeup", "skip", "report", "size" or "tune".
    scenario : Scenario
        The site.
    digest : str
        Names the site and its rain by content.
    policies : tuple of str
        Names of the policies; the first is the one the others are held against.
    years : int
        Length of a run [year].
    replications : int
        Runs of each policy; of a history, the number of the run it shows.
    seed : int
        Root of the random streams.
    rain : RainRecord or None
        Recorded rain.
    units : str
        "us" or "si"; only a report depends on it.
    rows : DataFrame or None
        Rows of the study a report is made from.
    first_day : int
        First of the days a close look is taken at.
    skips : tuple of Skip
        What nobody does, and when.
    told : int
        The run whose story is told.
    asked : tuple of pairs of str
        What else a search was asked, name and value; a name may stand again.
    """

    kind: str
    scenario: Scenario
    digest: str
    policies: tuple[str, ...]
    years: int
    replications: int
    seed: int
    rain: RainRecord | None = None
    units: str = ""
    rows: pd.DataFrame | None = None
    first_day: int = 0
    skips: tuple[Skip, ...] = ()
    told: int = 0
    asked: tuple[tuple[str, str], ...] = ()


def main(folder: Path) -> int:
    """Answer the question of a folder."""
    question: Question = pickle.loads((folder / QUESTION).read_bytes())
    try:
        kinds = {
            "study": _study, "history": _history, "closeup": _closeup, "skip": _skip, "report": _report
        }  # fmt: skip
        kinds |= {"size": _search, "tune": _search}
        result = kinds[question.kind](question, folder)
    except TwinError as error:
        _write(folder, "refused.txt", str(error).encode())
        return 2
    _write(folder, RESULT, pickle.dumps(result))
    return 0


def _study(question: Question, folder: Path) -> Any:
    from sim.study.runs.replicate import study  # noqa: PLC0415  takes a second; a history needs none of it

    known = {policy.name: policy for policy in question.scenario.policies}
    return study(
        question.scenario,
        [known[name] for name in question.policies],
        question.seed,
        question.years,
        question.replications,
        max(1, min(os.cpu_count() or 1, question.replications)),
        question.rain,
        None,
        lambda done, wanted: _write(folder, PROGRESS, json.dumps([done, wanted]).encode()),
    )


def _history(question: Question, folder: Path) -> Any:
    from sim.outcome import frames, measures  # noqa: PLC0415
    from sim.twin import run as twin  # noqa: PLC0415

    del folder
    history = twin.run(question.scenario, *_one_run(question))
    tables = frames.frames(history)
    return {"days": tables["days"], "events": tables["events"], "row": measures.row(history)}


def _closeup(question: Question, folder: Path) -> Any:
    from sim.outcome.closeup import closeup  # noqa: PLC0415
    from sim.twin.window import window  # noqa: PLC0415

    del folder
    policy, common = _one_run(question)
    return closeup(window(question.scenario, policy, common, question.first_day, CLOSE_DAYS))


def _skip(question: Question, folder: Path) -> Any:
    from sim.outcome import frames  # noqa: PLC0415
    from sim.report.html import handout  # noqa: PLC0415
    from sim.study.runs.replicate import study  # noqa: PLC0415
    from sim.study.skip.skip_words import answer  # noqa: PLC0415
    from sim.study.skip.skipping import ends, with_skips  # noqa: PLC0415
    from sim.study.skip.story import tell  # noqa: PLC0415
    from sim.twin import run as twin  # noqa: PLC0415

    scenario = question.scenario
    kept = next(item for item in scenario.policies if item.name == question.policies[0])
    left = with_skips(kept, question.skips)
    common = twin.common_inputs(scenario, question.told, question.seed, question.years, question.rain, None)
    runs = [twin.run(scenario, policy, common) for policy in (kept, left)]
    story = tell(runs[0], runs[1], left.skips[-1].from_s, question.units)
    rows = study(
        scenario, [kept, left], question.seed, question.years, question.replications,
        max(1, min(os.cpu_count() or 1, question.replications)), question.rain, None,
        lambda done, wanted: _write(folder, PROGRESS, json.dumps([done, wanted]).encode()),
    ).rows  # fmt: skip
    found = ends(rows, kept.name, left.name)
    page = handout.build(scenario, story, found, runs[0], runs[1], left, question.units)
    return {
        "days": [frames.days_frame(history) for history in (runs[1], runs[0])],
        "story": story,
        "answer": answer(found, scenario, left),
        "handout": page.encode(),
    }


def _one_run(question: Question) -> "tuple[Policy, Common]":
    from sim.twin.run import common_inputs  # noqa: PLC0415

    policy = next(item for item in question.scenario.policies if item.name == question.policies[0])
    return policy, common_inputs(
        question.scenario, question.replications, question.seed, question.years, question.rain, None
    )


def _report(question: Question, folder: Path) -> Any:
    from sim.report.html import comparison_report  # noqa: PLC0415
    from sim.study.compare.comparison import compare_by_goals  # noqa: PLC0415
    from sim.study.compare.sentences import rating_sentence, sentences_of  # noqa: PLC0415
    from sim.study.runs import store  # noqa: PLC0415

    del folder
    assert question.rows is not None
    scenario, rows = question.scenario, question.rows
    comparison = compare_by_goals(rows, question.policies[0], scenario.goals)
    finished = int(rows["replication"].nunique())
    because = "complete" if finished == question.replications else "interrupted"
    manifest = store.manifest(
        scenario.name, question.digest, list(question.policies), question.seed, question.years,
        finished, question.replications, because, question.policies[0],
    )  # fmt: skip
    rating = rating_sentence(scenario.uv, question.units)
    said = sentences_of(comparison, scenario.prices.currency, question.replications, rating)
    page = comparison_report.build(
        scenario, rows, comparison, said, manifest, question.rain, None, question.units
    )
    return page.encode()


def _search(question: Question, folder: Path) -> Any:
    from dashboard.jobs.search_worker import answered  # noqa: PLC0415

    tell = lambda done, wanted: _write(folder, PROGRESS, json.dumps([done, wanted]).encode())  # noqa: E731
    return answered(question, tell)


def _write(folder: Path, name: str, content: bytes) -> None:
    """Write under a temporary name first: the server may look at any moment."""
    waiting = folder / f"{name}.part"
    waiting.write_bytes(content)
    os.replace(waiting, folder / name)


def _end_with_server() -> None:
    """Wait for the pipe from the server to close, which it does when the server ends; then end all here."""
    os.read(0, 1)
    os.killpg(0, signal.SIGKILL)  # the group is this worker's own, with the processes it started


if __name__ == "__main__":
    os.nice(NICENESS)
    threading.Thread(target=_end_with_server, daemon=True).start()
    sys.exit(main(Path(sys.argv[1])))
