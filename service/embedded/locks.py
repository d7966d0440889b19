"""Locks on files, which the operating system lets go however a process ends."""

from __future__ import annotations

import os
import sys
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import IO

from service.embedded.errors import EmbeddedError

if sys.platform == "win32":
    import msvcrt
else:
    import fcntl

WAIT = 150.0  # longer than the longest start that another process may be in the middle of [s]


@contextmanager
def alone(path: Path) -> Iterator[None]:
    """Hold the file's lock for the block; wait while another process holds it.

    Raises
    ------
    EmbeddedError
        If it is still held after 150 s.
    """
    with _open(path) as file:
        give_up = time.monotonic() + WAIT
        while not _take(file, shared=False):
            if time.monotonic() > give_up:
                raise EmbeddedError(f"Another process has been holding {path} for {WAIT:g} s; stop it and try again.")
            time.sleep(0.02)
        yield


class Use:
    """A process's mark that it uses what the file stands for."""

    def __init__(self, path: Path) -> None:
        self._path = path
        self._file: IO[bytes] | None = _open(path)
        if sys.platform != "win32" and not _take(self._file, shared=True):  # asked for in the block of ``alone``
            raise EmbeddedError(f"{path} is locked by a program that is not Loadwright.")

    @property
    def ended(self) -> bool:
        """Tell whether the mark has been taken back."""
        return self._file is None

    def end(self) -> None:
        """Take the mark back."""
        if self._file is not None:
            self._file.close()
            self._file = None

    def by_others(self) -> bool | None:
        """Tell, after the end of the own use, whether there are others; None where the system cannot say."""
        if sys.platform == "win32":
            return None
        with _open(self._path) as file:
            return not _take(file, shared=False)


def _open(path: Path) -> IO[bytes]:
    return os.fdopen(os.open(path, os.O_CREAT | os.O_RDWR, 0o600), "r+b")


def _take(file: IO[bytes], *, shared: bool) -> bool:
    """Lock the open file if that is possible at once; closing it lets go."""
    try:
        if sys.platform == "win32":
            file.seek(0)
            msvcrt.locking(file.fileno(), msvcrt.LK_NBLCK, 1)
        else:
            fcntl.flock(file, (fcntl.LOCK_SH if shared else fcntl.LOCK_EX) | fcntl.LOCK_NB)
    except OSError:
        return False
    return True
