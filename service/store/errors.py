"""What the store may refuse."""

from __future__ import annotations

from service.core.errors import DomainError


class NotFound(DomainError):
    """A thing that this caller's gym (or this key's athlete) does not have."""

    code = "not_found"

    def __init__(self, what: str) -> None:
        super().__init__(f"There is no such {what}.")
        self.what = what


class Conflict(DomainError):
    """The thing is in a state, or in use, so that this cannot be done now."""

    code = "conflict"


class ChangedMeanwhile(DomainError):
    """Somebody changed the thing since the version that the caller read."""

    code = "changed_meanwhile"

    def __init__(self, version: int) -> None:
        super().__init__("It was changed since you read it: read it again, and decide again.")
        self.version = version


class VersionNeeded(DomainError):
    """The thing is there already, and the caller did not say which version it would replace."""

    code = "version_needed"

    def __init__(self, version: int) -> None:
        super().__init__("It is there already: read it, and send If-Match with its version to replace it.")
        self.version = version


class UnknownReference(DomainError):
    """A body names something that this gym does not have. `pointer` leads to it."""

    code = "unknown"

    def __init__(self, what: str, pointer: str) -> None:
        super().__init__(f"names no {what} of this gym")
        self.what, self.pointer = what, pointer


class UnfitReference(UnknownReference):
    """A body names something of this gym that cannot stand there; `rule` says why, as `must ...`."""

    code = "unfit"

    def __init__(self, what: str, pointer: str, rule: str) -> None:
        super().__init__(what, pointer)
        self.args = (rule,)


class KeyReused(DomainError):
    """An idempotency key was sent again with another request."""

    code = "key_reused"


class InProgress(DomainError):
    """The first request with this idempotency key is still running."""

    code = "request_in_progress"


class Unavailable(DomainError):
    """The database cannot be reached or has too much to do."""

    code = "unavailable"
