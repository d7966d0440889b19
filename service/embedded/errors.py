"""What can go wrong with the embedded PostgreSQL."""


class EmbeddedError(Exception):
    """The embedded PostgreSQL cannot be found, made, started or entered; the message says what to do."""
