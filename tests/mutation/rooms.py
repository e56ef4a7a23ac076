"""What came of samples of mutants, file by file, kept in `rooms.csv` with the code they were made of."""

import csv
import hashlib
from collections.abc import Iterable
from dataclasses import asdict, dataclass, fields
from pathlib import Path

from tests.evidence.source import code

ROOT = Path(__file__).parents[2]
KEPT = Path(__file__).with_name("rooms.csv")


@dataclass(frozen=True)
class Tried:
    """A sample of the mutants of one file."""

    file: str
    code: str  # digest of the file, the same after words alone changed
    mutants: int  # that there are
    tried: int
    killed: int
    explained: int  # survivors that no test can notice, with a reason in `survivors.csv`
    date: str

    @property
    def is_of_this_code(self) -> bool:
        """Whether the file still is what was tried."""
        return (ROOT / self.file).is_file() and self.code == digest(self.file)


def digest(file: str) -> str:
    """Return what names the code of a file: 12 digits."""
    path = ROOT / file
    return hashlib.sha256(code(path.read_text("utf-8"), path.suffix)).hexdigest()[:12]


def kept() -> list[Tried]:
    """Return what was tried, by file."""
    if not KEPT.exists():
        return []
    with KEPT.open(encoding="utf-8", newline="") as lines:
        return [
            Tried(
                **{
                    one.name: int(row[one.name]) if one.type is int else row[one.name]
                    for one in fields(Tried)
                }
            )
            for row in csv.DictReader(lines)
        ]


def keep(found: Iterable[Tried]) -> None:
    """Write samples beside those of other files."""
    by_file = {one.file: one for one in (*kept(), *found)}
    with KEPT.open("w", encoding="utf-8", newline="") as out:
        writer = csv.DictWriter(out, [one.name for one in fields(Tried)], lineterminator="\n")
        writer.writeheader()
        writer.writerows(asdict(by_file[file]) for file in sorted(by_file))


def room(file: str) -> str:
    """Return the folder that a file is told under.

    Examples
    --------
    >>> room("sim/study/compare/choice.py"), room("sim/twin/world.py"), room("sim/cli.py")
    ('sim/study/compare', 'sim/twin', 'sim')
    """
    return file.rpartition("/")[0]
