"""The drill: a fault nobody names, gauges and taps to go by, acts with their consequences, then the truth."""
