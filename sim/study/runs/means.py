"""By what means a question is answered: who does the runs, where they are kept, who is told of them."""

from collections.abc import Callable, Iterator, Sequence
from contextlib import AbstractContextManager, contextmanager
from dataclasses import dataclass, field
from functools import partial
from pathlib import Path
from typing import Any

from sim.study.runs.quota import MOST_WORKERS, in_range
from sim.study.runs.request import Design, Inputs
from sim.study.runs.runner import StudyRunner, forget, open_runner

Told = Callable[[int, int, str], None]  # finished, wanted, of what
Rough = Callable[[StudyRunner, str], Any]  # takes what its runs are of
Opener = Callable[[Sequence[Design], str], AbstractContextManager[StudyRunner]]


@dataclass
class _HandsOn:
    """Hands on what is finished, the first time when each arm that was asked for can have a run."""

    runner: StudyRunner
    told: Callable[[int, int], None]
    rough: Callable[[], Any]
    on_partial: Callable[[Any], None]
    next: int = 0

    def __call__(self, finished: int, wanted: int) -> None:
        self.told(finished, wanted)
        self.next = self.next or self.runner.arms
        if finished >= self.next:
            self.next = 2 * finished
            if (found := self.rough()) is not None:
                self.on_partial(found)


def _nobody(finished: int, wanted: int, what: str) -> None:
    del finished, wanted, what


@dataclass(frozen=True)
class Means:
    """Who does the runs of an answer, where they are kept and who is told."""

    workers: int = 1  # processes, >= 1; one works in this process
    folder: Path | None = None  # where finished runs are kept and found again, until `forget`
    scheduler: str | None = None  # a cluster that does the work instead
    tell: Told = _nobody  # told how far the work is
    resumed: Told = _nobody  # told once of runs that were found in the folder
    # given rougher answers while the work goes on, where a question has any
    on_partial: Callable[[Any], None] | None = None
    _opened: list[tuple[Sequence[Design], Inputs, Path]] = field(
        default_factory=list, init=False, repr=False
    )  # in the folder

    def __post_init__(self) -> None:
        """Refuse what no machine has."""
        in_range("workers", self.workers, 1, MOST_WORKERS)

    @contextmanager
    def open(
        self, designs: Sequence[Design], inputs: Inputs, what: str = "", runs_each: int = 1
    ) -> Iterator[StudyRunner]:
        """Open what runs designs; it is told how many lots of so many runs each are finished."""
        begun = False

        def tell(finished: int, wanted: int) -> None:
            nonlocal begun
            if finished and not begun:
                self.resumed(finished, wanted, what)
            begun = True
            self.tell(finished // runs_each, wanted // runs_each, what)

        folder = None if self.folder is None else self.folder / what
        if folder is not None:
            self._opened.append((designs, inputs, folder))
        with open_runner(designs, inputs, self.workers, folder, self.scheduler, tell) as runner:
            yield runner

    def opener(self, inputs: Inputs, rough: Rough | None = None) -> Opener:
        """Return what opens runners for the rounds of a search.

        Parameters
        ----------
        rough : callable, optional
            Returns what is handed on of a runner's finished runs, by what they are of; None for nothing.
            Asked once each arm can have a run, then as often as there are twice as many.
        """

        @contextmanager
        def opened(designs: Sequence[Design], what: str) -> Iterator[StudyRunner]:
            with self.open(designs, inputs, what) as runner:
                if rough is not None and self.on_partial is not None:
                    runner.tell = _HandsOn(runner, runner.tell, partial(rough, runner, what), self.on_partial)
                yield runner

        return opened

    def forget(self) -> int:
        """Remove the runs that were kept, once what they were for is written; return what stays of others."""
        return sum(forget(designs, inputs, folder) for designs, inputs, folder in self._opened)


ALONE = Means()  # this process, and nobody is told
