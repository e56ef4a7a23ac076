"""What came of samples of mutants, file by file, kept in `rooms.csv` with the code they were made of."""

import csv
import hashlib
from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import asdict, dataclass, fields
from pathlib import Path

from tests.evidence.source import code

ROOT = Path(__file__).parents[2]
KEPT = Path(__file__).with_name("rooms.csv")
NORMAL_95 = 1.959963984540054


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
    """Write samples beside those of other files; of two of the same code the larger stays."""
    by_file = {one.file: one for one in kept() if (ROOT / one.file).is_file()}
    for one in found:
        old = by_file.get(one.file)
        if old is None or old.code != one.code or old.tried <= one.tried:
            by_file[one.file] = one
    with KEPT.open("w", encoding="utf-8", newline="") as out:
        writer = csv.DictWriter(out, [one.name for one in fields(Tried)], lineterminator="\n")
        writer.writeheader()
        writer.writerows(asdict(by_file[file]) for file in sorted(by_file))


@dataclass(frozen=True)
class Share:
    """The share of all mutants of some files that are killed, by samples of each, with a 95 % interval."""

    share: float
    low: float
    high: float


def share(found: Sequence[Tried]) -> Share:
    """Weigh the share killed of each file by its mutants.

    References
    ----------
    Cochran 1977, Sampling Techniques, chapter 5 (stratified random sampling). The spread within a file is
    that of its room, as few mutants of a file are tried.

    Examples
    --------
    >>> share([Tried("sim/a/b.py", "", 10, 10, 9, 0, ""), Tried("sim/a/c.py", "", 30, 3, 3, 0, "")]).share
    0.975
    """
    whole = sum(one.mutants for one in found)
    by_room: dict[str, list[Tried]] = defaultdict(list)
    for one in found:
        by_room[room(one.file)].append(one)
    mean = sum(one.mutants / whole * one.killed / one.tried for one in found)
    variance = 0.0
    for group in by_room.values():
        tried = sum(one.tried for one in group)
        p = (sum(one.killed for one in group) + 1.0) / (tried + 2.0)  # never quite sure of a room
        for one in group:
            left = 1.0 - one.tried / one.mutants
            variance += (one.mutants / whole) ** 2 * left * p * (1.0 - p) / one.tried
    half = NORMAL_95 * variance**0.5
    return Share(mean, max(mean - half, 0.0), min(mean + half, 1.0))


def told(found: Sequence[Tried]) -> str:
    """Return the share killed over all and by top folder, a line each."""
    lines = [_line("all", found)]
    tops = sorted({"/".join(one.file.split("/")[:2]) for one in found})
    for top in tops:
        lines.append(_line(top, [one for one in found if f"{one.file}/".startswith(f"{top}/")]))
    return "\n".join(lines)


def _line(name: str, found: Sequence[Tried]) -> str:
    if not found:
        return f"{name}: nothing tried"
    part = share(found)
    tried, killed = sum(one.tried for one in found), sum(one.killed for one in found)
    return f"{name}: {killed} of {tried} killed, {part.share:.1%} ({part.low:.1%} to {part.high:.1%})"


def room(file: str) -> str:
    """Return the folder that a file is told under.

    Examples
    --------
    >>> room("sim/study/compare/choice.py"), room("sim/twin/world.py"), room("sim/cli.py")
    ('sim/study/compare', 'sim/twin', 'sim')
    """
    return file.rpartition("/")[0]
