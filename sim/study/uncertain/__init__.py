"""Whether the answer holds over what nobody measured."""
