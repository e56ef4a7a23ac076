"""What commands show on the screen: a bar of progress, and answers wide enough for a table."""

from typing import Any

from rich.console import Console, Group
from rich.live import Live
from rich.progress import (
    BarColumn,
    MofNCompleteColumn,
    Progress,
    TextColumn,
    TimeElapsedColumn,
    TimeRemainingColumn,
)

WIDTH = 100  # columns of a screen


class Bar:
    """A bar of progress, and what is known so far above it, on the screen beside the results."""

    def __init__(self, words: str) -> None:
        """Begin; nothing is shown yet."""
        console = Console(stderr=True, emoji=False)  # a name is shown as it is
        self._shown = Progress(
            TextColumn("{task.description}"),
            BarColumn(),
            MofNCompleteColumn(),
            TimeElapsedColumn(),
            TextColumn("left"),
            TimeRemainingColumn(),
            console=console,
        )
        self._live = Live(self._shown, console=console, transient=True)
        self._on = console.is_terminal  # it would leave blank lines in a log
        self._words, self._under_way = words, ""
        self._task = self._shown.add_task(words, total=None)

    def tell(self, finished: int, wanted: int, what: str) -> None:
        """Show how far the work is, and of what."""
        if what != self._under_way:
            self._under_way = what
            self._shown.reset(self._task, description=f"{self._words}: {what}")
        self._shown.update(self._task, completed=finished, total=wanted)

    def so_far(self, known: Any) -> None:
        """Show what is known so far, until there is more."""
        self._live.update(Group(known, self._shown))

    def __enter__(self) -> None:
        """Show it."""
        if self._on:
            self._live.start()

    def __exit__(self, *error: object) -> None:
        """Take it from the screen."""
        if self._on:
            self._live.stop()


def answer_console() -> Console:
    """Return the console answers are printed on."""
    made = Console(emoji=False)  # a name is shown as it is
    made.width = min(made.width, WIDTH) if made.is_terminal else WIDTH
    return made
