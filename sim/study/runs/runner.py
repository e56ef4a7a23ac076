"""One way to run designs: missing runs go out in batches, their rows are kept by key and put back in order.

The seam is `concurrent.futures.Executor`: this process or others; same rows, same bytes. Within a context the
workers stay, so that a search may ask in many small rounds.
"""

from collections.abc import Callable, Iterator, Sequence
from contextlib import AbstractContextManager, ExitStack, contextmanager
from pathlib import Path

import pandas as pd

from sim import disk
from sim.errors import InputError, Interrupted
from sim.study.runs import workers as crews
from sim.study.runs.batch import Batch, Done, Job, Unit
from sim.study.runs.cluster import cluster
from sim.study.runs.dispatch import COMPLETE, Fan
from sim.study.runs.finished_rows import Known
from sim.study.runs.folder import StudyFolder, held, read_batches
from sim.study.runs.keys import plan, prefix_of, prefixes, run_key
from sim.study.runs.pace import MOST_YEARS, Pace
from sim.study.runs.request import Design, Inputs, Request

Progress = Callable[[int, int], None]


def _no_progress(finished: int, wanted: int) -> None:
    del finished, wanted


class StudyRunner:
    """Runs requests and knows what it has run; the rows have the same bytes whoever did the work."""

    def __init__(
        self,
        designs: Sequence[Design],
        inputs: Inputs,
        workers: int,
        on_progress: Progress = _no_progress,
        folder: StudyFolder | None = None,
        scheduler: str | None = None,
    ) -> None:
        """Begin; workers are called when there is work.

        Parameters
        ----------
        workers : int
            Processes, >= 1; one works in this process.
        """
        self.designs = tuple(designs)
        self.inputs = inputs
        self._scheduler = scheduler
        self.tell = on_progress
        self._prefixes = prefixes(self.designs, inputs)
        self._known = Known()
        self._wanted: set[str] = set()  # runs of the request under way
        self._asked: list[Request] = []
        self._finished = 0
        self._fan = Fan(self._call, 1 if scheduler else workers, Pace(inputs.years), self._begin, self._keep)
        self._starts = {start for row in self._prefixes for start in row}
        self._folder = folder
        if folder is not None:
            for keys, columns in read_batches(folder.path, self._mine):
                self._known.add(keys, columns)

    def run(self, requests: Sequence[Request]) -> pd.DataFrame:
        """Run what is missing of all requests and return their rows, see `rows`."""
        self.advance(requests)
        return self.rows(requests)

    def advance(
        self,
        requests: Sequence[Request],
        enough: Callable[[], str] = str,
        whole: bool = False,
        pauses: Sequence[int] = (),
    ) -> str:
        """Run what is missing of all requests, replication by replication; return "complete", or why not all.

        Parameters
        ----------
        pauses : sequence of int
            Replications, rising, beyond which nothing is begun before `enough` has seen all up to there.

        Raises
        ------
        Interrupted
            When the user stopped it; what was finished is kept.
        TwinError
            When workers died again and again.
        """
        self._asked += requests
        self._wanted = {key for request in requests for _, key in self._runs(request)}
        self._finished = sum(key in self._known for key in self._wanted)

        def look() -> str:
            self.tell(self._finished, len(self._wanted))
            return enough()

        try:
            for stop in (*pauses, None):
                because = self._fan.go(self._missing([one.up_to(stop) for one in requests], whole), look)
                if because != COMPLETE:
                    break
            return because
        except KeyboardInterrupt:
            raise Interrupted(
                f"interrupted; {self._finished:,} of {len(self._wanted):,} runs were finished"
            ) from None

    def rows(self, requests: Sequence[Request]) -> pd.DataFrame:
        """Return rows of requests that were run: in their order, then by policy, then by replication."""
        runs = [(design, key) for request in requests for design, key in self._runs(request)]
        table = self._known.frame([key for _, key in runs])
        table.insert(0, "design", [design for design, _ in runs])
        return table

    @property
    def arms(self) -> int:
        """How many policies of designs were asked for."""
        return len({(request.design, one) for request in self._asked for one in request.policies})

    def finished(self) -> pd.DataFrame:
        """Return the rows of all that was asked of this runner and is there, as `rows`."""
        runs = {key: design for request in self._asked for design, key in self._runs(request)}
        keys = [key for key in runs if key in self._known]
        table = self._known.frame(keys)
        table.insert(0, "design", [runs[key] for key in keys])
        return table

    def knows(self, design: int, policies: Sequence[int], replication: int) -> bool:
        """Return whether all these policies have finished a replication."""
        return all(self._key(design, policy, replication) in self._known for policy in policies)

    def value(self, design: int, policy: int, replication: int, column: str) -> float:
        """Return a number of a run that is known."""
        return float(self._known.value(self._key(design, policy, replication), column))

    def close(self) -> None:
        """Let the workers go; what they have not begun is dropped."""
        self._fan.close()

    def _key(self, design: int, policy: int, replication: int) -> str:
        return run_key(self._prefixes[design][policy], replication)

    def _mine(self, key: str) -> bool:
        return prefix_of(key) in self._starts

    def _keys(self, batch: Batch) -> list[str]:
        return [self._key(unit.design, one, unit.replication) for unit in batch for one in unit.policies]

    def _runs(self, request: Request) -> Iterator[tuple[int, str]]:
        """Walk through the runs of a request in order."""
        for policy in request.policies:
            for replication in range(request.first, request.stop):
                yield request.design, self._key(request.design, policy, replication)

    def _missing(self, requests: Sequence[Request], whole: bool) -> list[Unit]:
        """Return what is still to be run: all designs of one replication, then the next; or the other way."""
        wanted: dict[tuple[int, int], dict[int, None]] = {}
        for request in requests:
            for replication in range(request.first, request.stop):
                wanted.setdefault((replication, request.design), {}).update(dict.fromkeys(request.policies))
        most = max(1, MOST_YEARS // self.inputs.years)
        found = []
        for (replication, design), policies in sorted(
            wanted.items(), key=lambda item: item[0][::-1] if whole else item[0]
        ):
            missing = [one for one in policies if not self.knows(design, (one,), replication)]
            for first in range(0, len(missing), most):
                found.append(Unit(design, tuple(missing[first : first + most]), replication))
        return found

    def _begin(self, batch: Batch) -> None:
        if self._folder is not None:
            self._folder.begin(self._keys(batch))

    def _keep(self, batch: Batch, done: Done) -> None:
        if self._folder is not None:
            self._folder.write(self._keys(batch), done.columns)
        self._known.add(self._keys(batch), done.columns)
        self._finished += sum(key in self._wanted for key in self._keys(batch))

    def _call(self, workers: int) -> AbstractContextManager[crews.Crew]:
        inputs = self.inputs
        designs = tuple((one.scenario, one.policies, one.root(inputs)) for one in self.designs)
        job = Job(designs, inputs.years, inputs.rain, inputs.draws)
        if self._scheduler is not None:
            return cluster(job, self._scheduler)
        return crews.in_line(job) if workers == 1 else crews.processes(job, workers)


@contextmanager
def open_runner(
    designs: Sequence[Design],
    inputs: Inputs,
    workers: int,
    folder: Path | None = None,
    scheduler: str | None = None,
    on_progress: Progress = _no_progress,
) -> Iterator[StudyRunner]:
    """Open what runs designs.

    Parameters
    ----------
    workers : int
        Processes, >= 1; the rows are the same for any number.
    """
    if workers < 1:
        raise InputError(f"workers is {workers}; wanted 1 or more")
    with ExitStack() as stack:
        kept = None
        if folder is not None:
            stack.enter_context(held(disk.prepare(folder)))
            kept = StudyFolder(folder, plan(designs, inputs))
            stack.callback(kept.remove_empty)
        runner = StudyRunner(designs, inputs, workers, on_progress, kept, scheduler)
        stack.callback(runner.close)
        yield runner


def forget(designs: Sequence[Design], inputs: Inputs, folder: Path) -> int:
    """Remove finished batches of designs from a folder; return how many batches of others stay in it."""
    starts = {start for row in prefixes(designs, inputs) for start in row}
    with held(disk.prepare(folder)):
        return StudyFolder(folder, plan(designs, inputs)).forget(lambda key: prefix_of(key) in starts)
