"""Analysis of a template before anyone lifts it: what it asks for, how hard that is, what looks wrong in it."""
