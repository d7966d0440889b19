"""Lifts: the built-in catalogue as rows of each gym, and the gym's own."""

from __future__ import annotations

from service.store.session import Tx


def add_built_in(tx: Tx) -> None:
    """Give a gym the built-in lifts."""
