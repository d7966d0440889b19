"""Loadwright: from a training block to the load on the bar, with the reason."""
