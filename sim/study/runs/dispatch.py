"""Fanning out: as many batches to whoever does the work as there are places; others when workers died."""

from collections import deque
from collections.abc import Callable, Iterable
from concurrent.futures import FIRST_COMPLETED, BrokenExecutor, Future, wait
from contextlib import AbstractContextManager, ExitStack

from sim.errors import InputError, TwinError
from sim.study.runs.batch import Batch, Done, Unit
from sim.study.runs.pace import Pace
from sim.study.runs.workers import Crew

COMPLETE = "complete"
MOST_DEATHS = 3  # of workers, without a batch finished in between
# What this process does itself before it calls others: they then find compiled code, and a first answer is
# there while they would still be starting.
FIRST_S = 0.8


class Fan:
    """Hands out units of work; its workers stay from one call to the next."""

    def __init__(
        self,
        call: Callable[[int], AbstractContextManager[Crew]],
        most: int,
        pace: Pace,
        begin: Callable[[Batch], None],
        keep: Callable[[Batch, Done], None],
    ) -> None:
        """Begin; workers are called when there is work, no more of them than there are units of it.

        Parameters
        ----------
        call : callable
            Calls a number of workers.
        most : int
            Workers there may be.
        """
        self._call, self._most, self._least = call, most, 1
        self._pace = pace
        self._begin = begin
        self._keep = keep
        self._stack = ExitStack()
        self._crew: Crew | None = None
        self._left: deque[Unit] = deque()
        self._pending: dict[Future[Done], Batch] = {}
        self._done: deque[tuple[Batch, Done]] = deque()
        self._worked_s = 0.0  # by all

    def go(self, units: Iterable[Unit], stop: Callable[[], str]) -> str:
        """Have units done; return "complete", or the sentence by which they were stopped.

        Raises
        ------
        InputError
            When a cluster was lost.
        TwinError
            When workers died again and again.
        """
        self._left, deaths = deque(units), 0
        try:
            while not (why := stop()):
                try:
                    self._hand_out()
                    if not self._pending:
                        return COMPLETE
                    self._collect()
                    deaths = 0
                    if self._pending:
                        self._hand_out()  # before looking at rows: nobody is to wait for that
                except BrokenExecutor as error:
                    self._recover()
                    deaths = 0 if self._done else deaths + 1
                    if deaths > MOST_DEATHS:
                        raise TwinError(
                            "worker processes died again and again (memory may have run out); "
                            "try fewer --workers"
                        ) from error
                self._keep_done()
            return why
        finally:
            self._drain()

    def close(self) -> None:
        """Let the workers go; what they have not begun is dropped."""
        self._crew = None
        self._stack.close()

    def _hand_out(self) -> None:
        most = 1 if self._worked_s < FIRST_S else self._most
        wanted = max(self._least, min(most, len(self._left)))
        if self._crew is not None and not self._pending and self._crew.places < wanted:
            self.close()  # they were called for less
        if self._left and self._crew is None:
            self._crew = self._stack.enter_context(self._call(wanted))
        while self._left and self._crew is not None and len(self._pending) < self._crew.places:
            early = self._worked_s < FIRST_S
            batch = (self._left.popleft(),) if early else self._pace.cut(self._left, self._crew.places)
            try:
                self._begin(batch)
                self._pending[self._crew.submit(batch)] = batch
            except BaseException as error:
                self._left.extendleft(reversed(batch))
                self._look(error)
                raise

    def _collect(self) -> None:
        """Wait for the next batches; one that failed raises."""
        ready, _ = wait(self._pending, return_when=FIRST_COMPLETED)
        for future in ready:
            try:
                rows = future.result()
            except Exception as error:
                self._look(error)
                raise
            self._done.append((self._pending.pop(future), rows))

    def _look(self, error: BaseException) -> None:
        """Say in one line when an error means that the workers are gone for good."""
        if self._crew is not None and isinstance(error, self._crew.gone):
            raise InputError(
                f"{self._crew.name} was lost ({type(error).__name__}); "
                "once it is back, the same command goes on from what was finished"
            ) from error

    def _recover(self) -> None:
        """Let broken workers go, note what they had finished and put back what they had not."""
        self.close()
        self._least = self._most  # what ended a worker is not to end this process
        for future, batch in self._pending.items():
            if future.cancelled() or future.exception() is not None:
                self._left.extendleft(reversed(batch))
            else:
                self._done.append((batch, future.result()))
        self._pending.clear()

    def _drain(self) -> None:
        """Keep what is under way and drop what is not begun: after an interrupt, an error or an early end."""
        for future in self._pending:
            future.cancel()
        wait(self._pending)
        for future, batch in self._pending.items():
            if not future.cancelled() and future.exception() is None:
                self._done.append((batch, future.result()))
        self._pending.clear()
        self._keep_done()

    def _keep_done(self) -> None:
        while self._done:
            batch, done = self._done.popleft()
            self._pace.note(batch, done.took_s)
            self._worked_s += done.took_s
            self._keep(batch, done)
