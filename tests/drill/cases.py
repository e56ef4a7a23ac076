"""What tests of the drill share."""


def still(scenario):
    """The same house in which nobody misses a step, as in every drill."""
    slips = scenario.people.slips.model_copy(update={"on": False})
    return scenario.model_copy(update={"people": scenario.people.model_copy(update={"slips": slips})})
