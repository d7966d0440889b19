"""Repetition curves: which share of a max can be lifted how often, by name, each with its source."""
