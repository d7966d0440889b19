"""HTTP: one file for each resource, its bodies beside its routes."""
