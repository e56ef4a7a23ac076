"""What `compare --uncertain N` adds: draws over the uncertain inputs, their table, words and files."""

import argparse

from rich import box
from rich.console import Console
from rich.markup import escape
from rich.table import Table

from sim.commands.inputs import Inputs
from sim.commands.screen import progress_bar
from sim.scenario.care import Policy
from sim.scenario.values.variants import spans
from sim.study.runs import store
from sim.study.runs.quota import in_range
from sim.study.uncertain import robust_words, uncertain
from sim.study.uncertain.robust import Robust, robust
from sim.study.uncertain.uncertain import Plan, Sampled, sampled

# None: not asked for. No Robust: fewer than two draws were finished.
Drawn = tuple[Sampled, Robust | None] | None
UNFINISHED = "unfinished_draws"  # folder of batches, beside the results, until these are whole


def check(options: argparse.Namespace, inputs: Inputs) -> None:
    """Refuse what cannot be drawn, before long work begins."""
    if options.uncertain is not None:
        in_range("uncertain", options.uncertain, 2)
        in_range("each", options.each, 2)
        spans(inputs.scenario, options.known)


def draw(options: argparse.Namespace, inputs: Inputs, policies: list[Policy]) -> Drawn:
    """Run the draws that were asked for.

    Returns
    -------
    tuple of Sampled and Robust, or None
        None when they were not asked for; no Robust when fewer than two were finished.
    """
    if getattr(options, "uncertain", None) is None:  # shards are merged without it
        return None
    with progress_bar() as bar:
        task = bar.add_task(f"{options.uncertain} draws of what is uncertain", total=options.uncertain)
        found = sampled(
            inputs.scenario,
            _plan(options, inputs, policies),
            options.uncertain,
            options.workers,
            options.known,
            lambda finished, wanted: bar.update(task, completed=finished, total=wanted),
            options.out / UNFINISHED,
            options.scheduler,
        )
    return found, robust(found, inputs.scenario.goals) if len(found.sites) > 1 else None


def forget(options: argparse.Namespace, inputs: Inputs, policies: list[Policy], found: Drawn) -> None:
    """Remove the finished batches of draws, once what they were for is written."""
    if found is not None and not found[0].interrupted:
        uncertain.forget(found[0], _plan(options, inputs, policies), options.out / UNFINISHED)


def _plan(options: argparse.Namespace, inputs: Inputs, policies: list[Policy]) -> Plan:
    return Plan(tuple(policies), options.seed, options.years, options.each, inputs.rain, inputs.draws)


def files(found: Drawn) -> dict[str, bytes]:
    """Return what is kept of the draws."""
    if found is None or found[1] is None:
        return {}
    return {
        "uncertain.csv": store.csv_bytes(robust_words.draws_frame(found[0], found[1])),
        "uncertain_inputs.csv": store.csv_bytes(robust_words.inputs_frame(found[1])),
    }


def note(found: Drawn, each: int) -> dict[str, int]:
    """Return what the manifest says of the draws.

    Returns
    -------
    dict of str to int
        Counts; empty when there were no draws.
    """
    if found is None:
        return {}
    one = found[0]
    return {"draws": len(one.sites), "draws wanted": one.wanted, "runs each": each, "inputs": len(one.spans)}


def show(console: Console, found: Drawn, currency: str) -> None:
    """Print the table and the sentences of the draws."""
    if found is None:
        return
    if found[1] is None:
        console.print("Interrupted before two draws over what is uncertain were finished: none is shown.")
        return
    shown = Table(
        title="Over what is uncertain; ± are standard deviations due to the inputs and between runs",
        title_justify="left",
        box=box.SIMPLE_HEAD,
    )
    for at, heading in enumerate(robust_words.HEADINGS):
        shown.add_column(heading, justify="left" if at == 0 else "right", overflow="fold")
    for row in robust_words.table_rows(found[1]):
        shown.add_row(*map(escape, row))
    console.print(shown)
    console.print(robust_words.sentences(found[1], currency), markup=False, highlight=False)
