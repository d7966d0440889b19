"""The command line: serve, demo, migrate, key, openapi."""

from __future__ import annotations

import gc

gc.disable()  # what is imported stays: looking through it again and again took a fifth of the start

import json
import os
import signal
import socket
import sys
from collections.abc import Callable, Iterator
from contextlib import contextmanager, suppress
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path
from threading import Thread
from typing import Annotated, Literal
from uuid import UUID
from zoneinfo import available_timezones

import typer
import uvicorn
from fastapi import FastAPI
from rich.console import Console
from rich.markup import escape
from rich.progress import BarColumn, MofNCompleteColumn, Progress, TextColumn
from sqlalchemy import Connection, create_engine
from sqlalchemy.exc import OperationalError

from service import embedded
from service import settings as environment
from service.app import create_app
from service.demo import scenario, seed, tell
from service.settings import Settings, SettingsError
from service.store import current, gyms, keys, lifts
from service.store.key_text import KeyText, read_key_text
from service.store.session import Caller, Database, Tx, enter

cli = typer.Typer(
    name="loadwright",
    help="From a training block to the load on the bar, with the reason.",
    no_args_is_help=True,
    add_completion=False,
    pretty_exceptions_enable=False,
)
key_cli = typer.Typer(help="API keys: make, list, revoke.", no_args_is_help=True)
cli.add_typer(key_cli, name="key")

say = Console(stderr=True, highlight=False)
Gym = Annotated[str, typer.Option("--gym", help="The gym's name.")]


@dataclass(frozen=True)
class Reached:
    """A database that can be reached: as the owner of the tables, and as the service."""

    owner_url: str
    service_url: str


@contextmanager
def reach(settings: Settings) -> Iterator[Reached]:
    """The named server, or the embedded one, started if need be and stopped when nobody uses it any more."""
    if settings.database_url is not None:
        yield Reached(settings.owner_database_url or settings.database_url, settings.database_url)
        return
    say.print("Starting PostgreSQL …")
    with embedded.start(settings.data) as server:
        yield Reached(server.owner_url, server.service_url)


def upgrade(url: str) -> None:
    """Run the migrations that a database lacks.

    What runs them is loaded here: a service that finds all of them done can do without its 8 MB.
    """
    from service.store import migrate  # noqa: PLC0415

    migrate.upgrade(url)


@contextmanager
def owner(settings: Settings) -> Iterator[Connection]:
    """A transaction of the owner's role; an embedded database is migrated first."""
    with reach(settings) as reached:
        if settings.database_url is None:
            upgrade(reached.owner_url)
        engine = create_engine(reached.owner_url)
        try:
            with engine.begin() as connection:
                yield connection
        finally:
            engine.dispose()


def listen(
    app: FastAPI,
    settings: Settings,
    sockets: list[socket.socket] | None = None,
    beside: Callable[[uvicorn.Server], None] | None = None,
) -> None:
    """Serve until a signal ends it; then leave in the usual way, so that an embedded server is stopped too.

    `sockets`: bound already, in place of host and port. `beside` runs meanwhile, in a thread.
    """
    signal.signal(signal.SIGTERM, lambda *_: sys.exit(0))
    config = uvicorn.Config(
        app,
        host=settings.host,
        port=settings.port,
        log_level=settings.log_level,
        access_log=settings.log_level == "debug",
        server_header=False,
        date_header=True,
        timeout_keep_alive=75,
        timeout_graceful_shutdown=20,
        proxy_headers=False,  # the app itself believes only the proxies that the settings name
    )
    server = uvicorn.Server(config)
    if beside is not None:
        Thread(target=beside, args=(server,), daemon=True).start()
    with suppress(KeyboardInterrupt):
        server.run(sockets=sockets)
    if not server.started:
        sys.exit(3)


def make_app(reached: Reached, settings: Settings) -> FastAPI:
    """The service on a database."""
    database = Database(reached.service_url, pool_size=settings.pool_size, prepare=settings.prepare)
    return create_app(database, proxies=settings.proxies, cors_origins=settings.cors_origins)


@cli.command()
def serve() -> None:
    """Serve the API. Without DATABASE_URL an embedded PostgreSQL is started and migrated."""
    settings = environment.read()
    with reach(settings) as reached:
        if settings.database_url is None:
            upgrade(reached.owner_url)
        elif not current.is_current(reached.service_url):
            raise typer.BadParameter("the database lacks migrations of this release: run `loadwright migrate` first")
        listen(make_app(reached, settings), settings)


@cli.command()
def demo() -> None:
    """Serve an invented gym with some weeks of log; print its key and six lines of curl with their answers."""
    settings = environment.read()
    if settings.log_level == "info":  # what the demo prints says enough
        settings = settings.model_copy(update={"log_level": "warning"})
    try:
        bound = socket.create_server((settings.host, settings.port))
    except OSError as error:
        raise SettingsError(
            f"LOADWRIGHT_PORT: {settings.host}:{settings.port} cannot be listened on ({error.strerror}). "
            "Set another port, such as LOADWRIGHT_PORT=8001, or 0 for any free one."
        ) from error
    host = "127.0.0.1" if settings.host == "0.0.0.0" else settings.host  # noqa: S104 - compared, not listened on
    base = f"http://{host}:{bound.getsockname()[1]}"
    failed: list[Exception] = []
    with bound, reach(settings) as reached:
        prepare(reached, settings)
        key = demo_key(reached.owner_url, (settings.data or embedded.default_folder()) / "demo-key")

        def told(server: uvicorn.Server) -> None:
            try:
                tell_demo(base, key)
            except Exception as error:  # noqa: BLE001 - whatever it is ends the demo, and is said below
                failed.append(error)
                server.should_exit = True

        listen(make_app(reached, settings), settings, [bound], told)
    if failed:
        say.print(f"[red]The demo's gym could not be made:[/red] {escape(str(failed[0]))}")
        sys.exit(1)


def tell_demo(base: str, key: str) -> None:
    """Bring the demo's gym up to date, with its progress on standard error; then print key and lines."""
    columns = TextColumn("Training days in the log"), BarColumn(), MofNCompleteColumn()
    with Progress(*columns, console=say) as progress:
        task = progress.add_task("", total=None)
        seed.seed(
            base,
            key,
            seed.moment(datetime.now(UTC)),
            lambda done, total: progress.update(task, completed=done, total=total),
        )
    for part in tell.story(base, key):
        sys.stdout.write(part + "\n")
        sys.stdout.flush()
    say.print(f"Serving at {base} - reference {base}/docs, guides {base}/guides. Ctrl-C ends it.", soft_wrap=True)


def demo_key(owner_url: str, kept: Path) -> str:
    """The demo gym's key, and the gym where there is none yet.

    Of a key only a hash is stored, so that it cannot be shown again. The demo keeps its own in the data folder, for
    this user's eyes only, as the database's passwords are: what was pasted before a restart goes on working, and each
    start prints the same lines. Where it cannot be kept, or does not open the gym, a new one is made.
    """
    engine = create_engine(owner_url)
    try:
        with engine.begin() as connection:
            found = gyms.find_by_name(connection, scenario.GYM)
            known = read_kept_key(kept)
            stored = known and keys.look_up(engine, known.id)
            if known and stored and (stored.gym, stored.secret_hash, stored.revoked_at) == (found, known.hash, None):
                return known.text
            gym = found or gyms.add(connection, name=scenario.GYM, unit="kg", time_zone=scenario.TIME_ZONE)
            tx = as_owner(connection, gym)
            if found is None:
                lifts.add_built_in(tx)
            made = keys.add(tx, name="demo", right="owner")[1]
    finally:
        engine.dispose()
    try:
        kept.parent.mkdir(parents=True, exist_ok=True)
        kept.unlink(missing_ok=True)
        with os.fdopen(os.open(kept, os.O_CREAT | os.O_EXCL | os.O_WRONLY, 0o600), "w") as file:
            file.write(f"{made.text}\n")
    except OSError as error:
        say.print(f"The demo's key cannot be kept, so the next start makes another: {escape(str(error))}")
    return made.text


def read_kept_key(kept: Path) -> KeyText | None:
    """The key that a file holds, if it holds one."""
    try:
        return read_key_text(kept.read_text("utf-8").strip())
    except (OSError, UnicodeDecodeError):
        return None


@cli.command(name="migrate")
def migrate_command() -> None:
    """Bring the database to the tables of this release, and make the service's role."""
    settings = environment.read()
    with reach(settings) as reached:
        prepare(reached, settings)
    say.print("The database is up to date.")


def prepare(reached: Reached, settings: Settings) -> None:
    """Make the service's role on a server that was named, and run the migrations that lack."""
    if settings.database_url is not None:
        embedded.prepare_service_role(reached.owner_url, reached.service_url)
    upgrade(reached.owner_url)


@cli.command()
def openapi(
    to: Annotated[Path | None, typer.Argument(help="File to write; left out: standard output.")] = None,
) -> None:
    """Write the OpenAPI document."""
    app = create_app(Database("postgresql+psycopg://nobody@localhost/none"))
    text = json.dumps(app.openapi(), ensure_ascii=False, indent=1) + "\n"
    if to is None:
        sys.stdout.write(text)
    else:
        to.write_text(text, "utf-8")


@key_cli.command("create")
def key_create(
    gym: Gym,
    right: Annotated[Literal["read", "log", "coach", "owner"], typer.Option(help="What the key may do.")] = "owner",
    name: Annotated[str, typer.Option(help="What it is for.")] = "the command line",
    unit: Annotated[Literal["kg", "lb"], typer.Option(help="Of a new gym.")] = "kg",
    time_zone: Annotated[str, typer.Option(help="Of a new gym.")] = "UTC",
) -> None:
    """Make a key, and the gym if there is none of this name. The key is shown once, on standard output."""
    if time_zone not in available_timezones():
        raise typer.BadParameter(f"{time_zone!r} is no IANA time zone, such as Europe/Oslo")
    with owner(environment.read()) as connection:
        found = gyms.find_by_name(connection, gym)
        identity = found or gyms.add(connection, name=gym, unit=unit, time_zone=time_zone)
        tx = as_owner(connection, identity)
        if found is None:
            lifts.add_built_in(tx)
        listed, made = keys.add(tx, name=name, right=right)
    say.print(f"Key {listed.id} of {gym!r}: it is shown here and nowhere else.")
    sys.stdout.write(made.text + "\n")


@key_cli.command("list")
def key_list(gym: Gym) -> None:
    """List a gym's keys, without their secrets."""
    with owner(environment.read()) as connection:
        identity = gyms.find_by_name(connection, gym)
        if identity is None:
            raise typer.BadParameter(f"there is no gym {gym!r}")
        found = keys.page(as_owner(connection, identity), after=None, limit=1000)
    for key in found:
        days = {
            "made": key.created_at,
            "expires": key.expires_at,
            "last used": key.last_used_at,
            "revoked": key.revoked_at,
        }
        told = ", ".join(f"{word} {day:%Y-%m-%d}" for word, day in days.items() if day)
        bound = f" for athlete {key.athlete}" if key.athlete else ""
        sys.stdout.write(f"lw_{key.id}  {key.right:<5}{bound}  {key.name}: {told}\n")


@key_cli.command("revoke")
def key_revoke(key: Annotated[str, typer.Argument(help="Its id, with or without lw_ before it.")]) -> None:
    """Revoke a key; running services refuse it after 5 s at the latest."""
    with owner(environment.read()) as connection:
        identity = gyms.of_key(connection, key.removeprefix("lw_"))
        if identity is None:
            raise typer.BadParameter(f"there is no key {key}")
        revoked = keys.revoke(as_owner(connection, identity), key.removeprefix("lw_"))
    say.print(f"Key lw_{revoked.id} ({revoked.name}) is revoked.")


def as_owner(connection: Connection, gym: UUID) -> Tx:
    """A transaction of the command line in a gym."""
    return enter(connection, Caller(gym, "", "command line", "owner", None), datetime.now(UTC))


def main() -> None:
    """Run the command line; what can go wrong outside is said in one line."""
    gc.freeze()
    gc.set_threshold(20_000, 20, 20)  # an answer makes thousands of small records and no circles
    gc.enable()
    try:
        cli()
    except (SettingsError, embedded.EmbeddedError) as error:
        say.print(f"[red]{error}[/red]")
        sys.exit(2)
    except OperationalError as error:
        say.print(f"[red]The database cannot be reached:[/red] {error.orig}")
        sys.exit(2)


if __name__ == "__main__":
    main()
