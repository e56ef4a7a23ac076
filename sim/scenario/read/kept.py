"""What a site's own file leaves to the scenario it extends."""

from collections.abc import Iterator

from sim.scenario.read.merge import ENTRY_KEYS, Table


def kept(base: Table, own: Table, before: str = "") -> Iterator[str]:
    """Walk through the keys of a base that a file over it does not say; a table it leaves alone is one key.

    Examples
    --------
    >>> list(kept({"pump": {"x": 1, "y": 2}, "uv": {"z": 3}}, {"pump": {"x": 5}}))
    ['pump.y', 'uv']
    """
    for key, value in base.items():
        here = f"{before}{key}"
        if key not in own:
            yield here
        elif isinstance(value, dict) and isinstance(own[key], dict):
            yield from kept(value, own[key], f"{here}.")
        elif key in ENTRY_KEYS and isinstance(value, list) and isinstance(own[key], list):
            said = {entry.get(ENTRY_KEYS[key]): entry for entry in own[key]}
            for entry in value:
                name = entry.get(ENTRY_KEYS[key])
                if name not in said:
                    yield f"{here}[{name}]"
                elif "drop" not in said[name]:
                    yield from kept(entry, said[name], f"{here}[{name}].")
