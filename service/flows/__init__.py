"""Use cases of several steps in one transaction: read, compute, write."""
