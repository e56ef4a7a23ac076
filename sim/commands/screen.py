"""What commands show on the screen: a bar of progress, and answers wide enough for a table."""

from rich.console import Console
from rich.progress import (
    BarColumn,
    MofNCompleteColumn,
    Progress,
    TextColumn,
    TimeElapsedColumn,
    TimeRemainingColumn,
)

WIDTH = 100  # columns of a screen


def progress_bar() -> Progress:
    """Return a bar of progress that goes to the screen beside the results."""
    console = Console(stderr=True)
    return Progress(
        TextColumn("{task.description}"),
        BarColumn(),
        MofNCompleteColumn(),
        TimeElapsedColumn(),
        TextColumn("left"),
        TimeRemainingColumn(),
        console=console,
        transient=True,
        disable=not console.is_terminal,  # it would leave blank lines in a log
    )


def answer_console() -> Console:
    """Return the console answers are printed on."""
    made = Console()
    made.width = min(made.width, WIDTH) if made.is_terminal else WIDTH
    return made
