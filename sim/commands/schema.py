"""`schema`: what a site file may say, as JSON Schema, for editors that complete and explain keys."""

import argparse
import json

from sim.scenario.schema import site_schema


def schema(options: argparse.Namespace) -> int:
    """Print the schema of site files."""
    del options
    print(json.dumps(site_schema(), indent=1, ensure_ascii=False, sort_keys=True))
    return 0
