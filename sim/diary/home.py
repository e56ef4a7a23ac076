"""Where the diary of a site is kept: beside its file, or for a built-in site in the working folder."""

from datetime import date
from importlib.resources import files
from pathlib import Path

from sim import disk
from sim.diary.book import Book, Diary
from sim.diary.described import ACTS, READINGS
from sim.diary.entries import said
from sim.errors import InputError
from sim.scenario.read.load import DEMO, built_in
from sim.scenario.scenario import Scenario

ENDING = "_diary"


def home_of(site: str | None, chosen: Path | None = None) -> Path:
    """Return the folder of a site's diary.

    Parameters
    ----------
    site : str or None
        File or built-in name; None for the demo.
    chosen : Path, optional
        A folder that was named, which wins.
    """
    if chosen is not None:
        return chosen
    name = site or DEMO
    if name in built_in():
        return Path(f"{name}{ENDING}")
    path = Path(name)
    return path.with_name(f"{path.stem}{ENDING}")


def invented(site: str | None) -> Path | None:
    """Return the folder of the invented diary that comes with a built-in site, where there is one."""
    name = site or DEMO
    folder = Path(str(files("scenarios"))) / f"{name}{ENDING}"
    return folder if name in built_in() and (folder / READINGS).is_file() else None


def there(folder: Path) -> bool:
    """Return whether anything was entered in a folder."""
    return any((folder / name).is_file() for name in (READINGS, ACTS))


def diary_in(folder: Path, scenario: Scenario, today: date) -> Diary:
    """Return what counts of the diary in a folder.

    Raises
    ------
    InputError
        One line, with the folder.
    """
    try:
        return Book(folder, scenario, today).read()
    except InputError as error:
        raise said(error, str(folder)) from None


def path_folder() -> Path:
    """Return where paths are kept: the user's cache."""
    return disk.cache("paths")


def last_day(diary: Diary) -> date:
    """Return the last day of which a diary says anything."""
    return max([one.at.date() for one in diary.readings] + [one.at.date() for one in diary.acts])
