"""The caution that stands wherever dose or a procedure is shown; nothing else, so that it loads at once."""

CAUTION = (
    "Counted are days below the dose target in a simulation, which is not a water test; "
    "local codes and licensed practice come first."
)
