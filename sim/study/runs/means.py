"""By what means a question is answered: who does the runs, where they are kept, who is told of them."""

from collections.abc import Callable, Iterator, Sequence
from contextlib import AbstractContextManager, contextmanager
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from sim.study.runs.quota import MOST_WORKERS, in_range
from sim.study.runs.request import Design, Inputs, Runner
from sim.study.runs.runner import StudyRunner, forget, open_runner

Told = Callable[[int, int, str], None]  # finished, wanted, of what
Opener = Callable[[Sequence[Design], str], AbstractContextManager[Runner]]


def _nobody(finished: int, wanted: int, what: str) -> None:
    del finished, wanted, what


@dataclass(frozen=True)
class Means:
    """Who does the runs of an answer, where they are kept and who is told.

    Attributes
    ----------
    workers : int
        Processes, >= 1; one works in this process.
    folder : Path or None
        Where finished runs are kept and found again, until `forget`.
    scheduler : str or None
        A cluster that does the work instead.
    tell : callable
        Told how far the work is.
    resumed : callable
        Told once of runs that were found in the folder.
    on_partial : callable or None
        Given rougher answers while the work goes on, where a question has any.
    """

    workers: int = 1
    folder: Path | None = None
    scheduler: str | None = None
    tell: Told = _nobody
    resumed: Told = _nobody
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

    def opener(self, inputs: Inputs) -> Opener:
        """Return what opens runners for the rounds of a search."""
        return lambda designs, what: self.open(designs, inputs, what)

    def forget(self) -> int:
        """Remove the runs that were kept, once what they were for is written; return what stays of others."""
        return sum(forget(designs, inputs, folder) for designs, inputs, folder in self._opened)


ALONE = Means()  # this process, and nobody is told
