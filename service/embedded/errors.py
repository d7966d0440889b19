"""What can go wrong before there is a database to work with."""


class EmbeddedError(Exception):
    """PostgreSQL cannot be found, made, started, entered or used; the message says what to do."""
