"""A twin of a house on rainwater: policies of upkeep by cost, downtime and days below the dose target."""

__version__ = "0.1.0"
