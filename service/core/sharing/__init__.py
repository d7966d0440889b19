"""A group at one place on one day: who shares a bar, in which order, and whether bars and plates suffice."""
