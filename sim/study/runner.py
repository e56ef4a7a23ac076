"""One way to fan out: units of work in batches to whoever does them, rows kept by key, put back in order.

The seam is `concurrent.futures.Executor`: this process or others; same rows, same bytes. Within a context the
workers stay, so that a search may ask in many small rounds.
"""

from collections import deque
from collections.abc import Callable, Iterator, Sequence
from concurrent.futures import FIRST_COMPLETED, Future, wait
from concurrent.futures.process import BrokenProcessPool
from contextlib import AbstractContextManager, ExitStack, contextmanager
from pathlib import Path

import pandas as pd

from sim.errors import InputError, Interrupted, TwinError
from sim.study import workers as crews
from sim.study.job import Batch, Done, Job, Unit
from sim.study.keys import prefixes, run_key
from sim.study.known import Known
from sim.study.pace import MOST_YEARS, Pace
from sim.study.seam import Design, Inputs, Request

COMPLETE = "complete"
MOST_DEATHS = 3  # of workers, without a batch finished in between

Progress = Callable[[int, int], None]
Finished = list[tuple[Batch, Done]]


def _no_progress(finished: int, wanted: int) -> None:
    del finished, wanted


class StudyRunner:
    """Runs requests and knows what it has run; a `sim.study.seam.Runner`."""

    def __init__(
        self, designs: Sequence[Design], inputs: Inputs, workers: int, on_progress: Progress = _no_progress
    ) -> None:
        """Begin; workers are called when there is work.

        Parameters
        ----------
        designs : sequence of Design
            Houses, each with its policies.
        inputs : Inputs
            What they share.
        workers : int
            Processes, >= 1; one works in this process.
        on_progress : callable
            Called with runs finished and runs wanted of the request under way.
        """
        self.designs = tuple(designs)
        self.inputs = inputs
        self._workers = workers
        self._tell = on_progress
        self._prefixes = prefixes(self.designs, inputs)
        self._known = Known()
        self._pace = Pace(inputs.years)
        self._stack = ExitStack()
        self._crew: crews.Crew | None = None

    def run(self, requests: Sequence[Request]) -> pd.DataFrame:
        """Return rows of all requests, see `Runner.run`.

        Parameters
        ----------
        requests : sequence of Request
            What is wanted; what was run before is not run again.

        Returns
        -------
        DataFrame
            In the order of requests, then policies, then replications.
        """
        self.advance(requests)
        return self.rows(requests)

    def advance(self, requests: Sequence[Request], enough: Callable[[], str] = str) -> str:
        """Run what is missing of all requests, replication by replication.

        Parameters
        ----------
        requests : sequence of Request
            What is wanted.
        enough : callable
            Asked after each batch; a sentence why no more is needed ends it, empty text goes on.

        Returns
        -------
        str
            "complete", or that sentence.

        Raises
        ------
        Interrupted
            When the user stopped it; what was finished is kept.
        TwinError
            When workers died again and again.
        """
        keys = {key: None for request in requests for _, key in self._runs(request)}
        left = deque(self._missing(requests))
        try:
            self._tell(sum(key in self._known for key in keys), len(keys))
            return self._fan_out(left, keys, enough)
        except KeyboardInterrupt:
            finished = sum(key in self._known for key in keys)
            raise Interrupted(f"interrupted; {finished:,} of {len(keys):,} runs were finished") from None

    def rows(self, requests: Sequence[Request]) -> pd.DataFrame:
        """Return rows of requests that were run.

        Parameters
        ----------
        requests : sequence of Request
            Of which every run is known.

        Returns
        -------
        DataFrame
            `design` and the columns of a row.
        """
        runs = [(design, key) for request in requests for design, key in self._runs(request)]
        table = self._known.frame([key for _, key in runs])
        table.insert(0, "design", [design for design, _ in runs])
        return table

    def knows(self, design: int, policies: Sequence[int], replication: int) -> bool:
        """Return whether all these policies have finished a replication.

        Parameters
        ----------
        design : int
            Number of the design.
        policies : sequence of int
            Numbers of its policies.
        replication : int
            Number of the replication.

        Returns
        -------
        bool
            True when all their rows are there.
        """
        return all(self._key(design, policy, replication) in self._known for policy in policies)

    def value(self, design: int, policy: int, replication: int, column: str) -> float:
        """Return a number of a run that is known.

        Parameters
        ----------
        design : int
            Number of the design.
        policy : int
            Number of its policy.
        replication : int
            Number of the replication.
        column : str
            Name of the column.

        Returns
        -------
        float
            The number.
        """
        return float(self._known.value(self._key(design, policy, replication), column))

    def close(self) -> None:
        """Let the workers go; what they have not begun is dropped."""
        self._crew = None
        self._stack.close()

    def _key(self, design: int, policy: int, replication: int) -> str:
        return run_key(self._prefixes[design][policy], replication)

    def _runs(self, request: Request) -> Iterator[tuple[int, str]]:
        """Walk through the runs of a request in order."""
        for policy in request.policies:
            for replication in range(request.first, request.stop):
                yield request.design, self._key(request.design, policy, replication)

    def _missing(self, requests: Sequence[Request]) -> list[Unit]:
        """Return what is still to be run: all designs of one replication, then the next."""
        wanted: dict[tuple[int, int], dict[int, None]] = {}
        for request in requests:
            for replication in range(request.first, request.stop):
                wanted.setdefault((replication, request.design), {}).update(dict.fromkeys(request.policies))
        most = max(1, MOST_YEARS // self.inputs.years)
        found = []
        for (replication, design), policies in sorted(wanted.items(), key=lambda item: item[0]):
            missing = [one for one in policies if not self.knows(design, (one,), replication)]
            for first in range(0, len(missing), most):
                found.append(Unit(design, tuple(missing[first : first + most]), replication))
        return found

    def _fan_out(self, left: deque[Unit], keys: dict[str, None], enough: Callable[[], str]) -> str:
        """Hand out batches until nothing is left, and begin anew with other workers when these died."""
        wanted, deaths = len(keys), 0
        finished = wanted - sum(len(unit.policies) for unit in left)
        pending: dict[Future[Done], Batch] = {}
        done: Finished = []
        try:
            while not (why := enough()):
                try:
                    self._hand_out(left, pending)
                    if not pending:
                        return COMPLETE
                    self._collect(pending, done)
                    deaths = 0
                    if pending:
                        self._hand_out(left, pending)  # before looking at rows: nobody is to wait for that
                except BrokenProcessPool as error:
                    deaths += 1
                    self._recover(left, pending, done)
                    if deaths > MOST_DEATHS:
                        raise TwinError(
                            "worker processes died again and again (memory may have run out); "
                            "try fewer --workers"
                        ) from error
                finished += self._keep(done)
                self._tell(finished, wanted)
            return why
        finally:
            self._drain(pending, done)

    def _recover(self, left: deque[Unit], pending: dict[Future[Done], Batch], done: Finished) -> None:
        """Let broken workers go, note what they had finished and put back what they had not."""
        self.close()
        for future, batch in pending.items():
            if future.cancelled() or future.exception() is not None:
                left.extendleft(reversed(batch))
            else:
                done.append((batch, future.result()))
        pending.clear()

    def _hand_out(self, left: deque[Unit], pending: dict[Future[Done], Batch]) -> None:
        if left and self._crew is None:
            self._crew = self._stack.enter_context(self._call())
        while left and self._crew is not None and len(pending) < self._crew.places:
            batch = self._pace.cut(left, self._crew.places)
            try:
                pending[self._crew.submit(batch)] = batch
            except BaseException:
                left.extendleft(reversed(batch))
                raise

    def _collect(self, pending: dict[Future[Done], Batch], done: Finished) -> None:
        """Wait for the next batches; one that failed raises."""
        ready, _ = wait(pending, return_when=FIRST_COMPLETED)
        for future in ready:
            rows = future.result()
            done.append((pending.pop(future), rows))

    def _drain(self, pending: dict[Future[Done], Batch], done: Finished) -> None:
        """Keep what is under way and drop what is not begun: after an interrupt, an error or an early end."""
        for future in pending:
            future.cancel()
        wait(pending)
        for future, batch in pending.items():
            if not future.cancelled() and future.exception() is None:
                done.append((batch, future.result()))
        self._keep(done)

    def _keep(self, done: Finished) -> int:
        """Keep the rows of finished batches, empty the list of them, return how many rows they were."""
        count = 0
        while done:
            batch, rows = done.pop(0)
            self._pace.note(batch, rows.took_s)
            keys = [self._key(unit.design, one, unit.replication) for unit in batch for one in unit.policies]
            self._known.add(keys, rows.columns)
            count += len(keys)
        return count

    def _call(self) -> AbstractContextManager[crews.Crew]:
        designs = tuple((design.scenario, design.policies) for design in self.designs)
        job = Job(designs, self.inputs.seed, self.inputs.years, self.inputs.rain, self.inputs.draws)
        return crews.in_line(job) if self._workers == 1 else crews.processes(job, self._workers)


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
    designs : sequence of Design
        Houses, each with its policies.
    inputs : Inputs
        What they share.
    workers : int
        Processes, >= 1; the rows are the same for any number.
    folder : Path, optional
        Where finished batches are kept, so that the same request goes on from them.
    scheduler : str, optional
        Address of a cluster that does the work instead of processes on this machine.
    on_progress : callable
        Called with runs finished and runs wanted of the request under way.

    Yields
    ------
    StudyRunner
        A `sim.study.seam.Runner`; its workers go when the context ends.
    """
    if workers < 1:
        raise InputError(f"workers is {workers}; wanted 1 or more")
    del folder, scheduler
    runner = StudyRunner(designs, inputs, workers, on_progress)
    try:
        yield runner
    finally:
        runner.close()
