"""Arithmetic only: no clock, no files, no randomness, no framework."""
