"""What a calculation may refuse: each error knows a stable code and a sentence, never a status."""

from __future__ import annotations


class DomainError(Exception):
    """A request that can be read but not answered; the message says what to do."""

    code = "refused"


class OutOfRange(DomainError):
    """A number lies outside the closed interval that a formula or the trade allows."""

    code = "out_of_range"

    def __init__(self, name: str, value: float, low: float, high: float, unit: str) -> None:
        super().__init__(f"{name} must lie in [{low:g}, {high:g}] {unit}, got {value:g}")
        self.name, self.value, self.low, self.high, self.unit = name, value, low, high, unit


class NotComputable(DomainError):
    """The input is valid, but there is no answer to it (no max known, a technique lift with effort)."""

    code = "not_computable"

    def __init__(self, code: str, message: str) -> None:
        super().__init__(message)
        self.code = code
