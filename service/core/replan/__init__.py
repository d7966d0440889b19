"""A block that did not go as planned: what can be done about the sessions that were missed."""
