"""Keep what a study over the uncertain inputs found: `python -m tests.evidence.uncertain FOLDER`.

The folder is that of `cisterntwin compare --uncertain N --out FOLDER`.
"""

import json
import sys
from pathlib import Path

import pandas as pd

from sim.study.uncertain.robust import wilson
from tests.evidence.measure import keep

NAMED = 5


def found(folder: Path) -> dict[str, object]:
    """Return the figures of a kept study."""
    manifest = json.loads((folder / "manifest.json").read_text(encoding="utf-8"))
    draws = pd.read_csv(folder / "uncertain.csv")
    inputs = pd.read_csv(folder / "uncertain_inputs.csv")
    count = int(manifest["uncertain"]["draws"])
    chance = float(inputs["chance_alone"].iloc[0])
    figures: dict[str, object] = {
        "site": manifest["site"],
        "years": manifest["years"],
        "seed": manifest["seed"],
        **manifest["uncertain"],
    }
    for policy, best in draws.groupby("policy", sort=False)["best"].sum().items():
        share = wilson(int(best), count, 0.95)
        figures[f"{policy} is best"] = f"{share.estimate:.2f} of draws ({share.low:.2f} to {share.high:.2f})"
    figures["what chance alone reaches, rank correlation"] = round(chance, 3)
    named = f"of {inputs['of'].iloc[0]} less {inputs['less'].iloc[0]}"
    for measure in ("cost", "days"):
        size = inputs[f"rank_correlation_{measure}"].abs()
        strongest = inputs.assign(size=size).nlargest(NAMED, "size")
        pairs = zip(
            strongest["input"], strongest[f"rank_correlation_{measure}"], strongest["size"], strict=True
        )
        told = [
            f"{key} {value:+.2f}{'' if size > chance else ' (no more than chance)'}"
            for key, value, size in pairs
        ]
        figures[f"moves the {measure} {named}"] = "; ".join(told)
    return figures


def command(folder: Path) -> str:
    """Return the commands that give it again."""
    manifest = json.loads((folder / "manifest.json").read_text(encoding="utf-8"))
    asked = manifest["uncertain"]
    study = f"cisterntwin compare --years {manifest['years']} --uncertain {asked['draws wanted']}"
    study += f" --each {asked['runs each']} --seed {manifest['seed']} --out out/uncertain"
    return f"{study} && python -m tests.evidence.uncertain out/uncertain"


if __name__ == "__main__":
    given = Path(sys.argv[1])
    keep(
        "uncertain",
        "Does the answer for a built-in site hold over what nobody measured?",
        command(given),
        found(given),
    )
