"""Brings a database to the tables of this release, as the owner's role."""

from __future__ import annotations

from pathlib import Path

from alembic import command
from alembic.config import Config


def upgrade(url: str, revision: str = "head") -> None:
    """Run the migrations that a database lacks. Doing it again changes nothing."""
    command.upgrade(_config(url), revision)


def downgrade(url: str, revision: str = "base") -> None:
    """Take migrations back, for tests and for a release that is withdrawn."""
    command.downgrade(_config(url), revision)


def check(url: str) -> None:
    """Raise where the tables in the code differ from those that the migrations make."""
    command.check(_config(url))


def _config(url: str) -> Config:
    config = Config()
    config.set_main_option("script_location", str(_scripts()).replace("%", "%%"))
    config.set_main_option("path_separator", "os")
    config.attributes["url"] = url
    return config


def _scripts() -> Path:
    """The migrations: inside the installed package, or beside it in a checkout."""
    package = Path(__file__).resolve().parent.parent
    installed = package / "_migrations"
    return installed if installed.is_dir() else package.parent / "migrations"
