"""Designs held against their criteria before anything is run: who is out, and by which."""

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass

from sim.scenario.quotation import Item
from sim.scenario.read.series import RainRecord
from sim.study.check.criteria import judged
from sim.study.check.criterion import FAIL
from sim.study.search.alternatives import Choice
from sim.study.wording import counted, listed


@dataclass(frozen=True)
class Paper:
    """What criteria say of the designs of a search."""

    left: tuple[int, ...]  # designs that stay, by their number
    thrown: dict[str, int]  # how many designs each criterion puts out
    shared: tuple[str, ...]  # criteria that every design fails, so that they decide nothing between them
    designs: int


def held(made: Sequence[Choice], rain: RainRecord | None, items: Sequence[Item] = ()) -> Paper:
    """Hold designs against the criteria."""
    named = {item.name: item for item in items}
    fails = [_fails(one, rain, named) for one in made]
    shared = frozenset.intersection(*fails) if fails else frozenset()
    thrown = Counter(key for one in fails for key in one - shared)
    return Paper(
        tuple(at for at, one in enumerate(fails) if not one - shared),
        dict(sorted(thrown.items())),
        tuple(sorted(shared)),
        len(made),
    )


def everything(made: Sequence[Choice]) -> Paper:
    """Put no design out."""
    return Paper(tuple(range(len(made))), {}, (), len(made))


def paper_sentences(paper: Paper) -> list[str]:
    """Return which criterion put out how many designs, and what all of them fail."""
    said = []
    if paper.thrown:
        reasons = listed([f"{count} on {key}" for key, count in paper.thrown.items()])
        out = paper.designs - len(paper.left)
        said.append(
            f"Criteria put out {out} of {counted(paper.designs, 'design')} before any run: {reasons}."
        )
    if paper.shared:
        said.append(f"Every design fails on {listed(paper.shared)}: the design check says by how much.")
    return said


def _fails(one: Choice, rain: RainRecord | None, named: dict[str, Item]) -> frozenset[str]:
    """Return the criteria a design fails; what a quotation does not say decides none."""
    unknown = frozenset().union(*(named[str(v)].undecided for v in one.values if str(v) in named))
    found = judged(one.design.scenario, "us", rain)
    return frozenset(item.key for item in found if item.state == FAIL) - unknown
