"""Writes the answers in the guides anew, with the same members shown; run by hand after a change of the numbers.

    python -m tests.guides.renew                all guides that are followed
    python -m tests.guides.renew first-hour     only those that are named, and what they stand on

What changed is then read in the difference: sentences around the answers, and the arithmetic in test_numbers.py, are
mended by hand.
"""

from __future__ import annotations

import json
import re
import shutil
import sys
import tempfile
from collections.abc import Collection, Sequence
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

from sqlalchemy import create_engine

from service import embedded
from service.app import create_app
from service.demo.tell import laid
from service.embedded.server import Server
from service.store import gyms, keys, lifts, migrate
from service.store.session import Caller, Database, enter
from tests.guides.pasted import CUT, FOLLOWED, GUIDES, KEY, UUID, Reader, Shell, Step, read_cut, served, source

FENCE = re.compile(r"^```(\w+)\n(.*?)^```$", re.MULTILINE | re.DOTALL)


def like(shown: Any, came: Any) -> Any:
    """Of what came, the members that are shown; a mark says where some were left out."""
    if isinstance(shown, dict) and isinstance(came, dict) and CUT in shown:
        kept = {name: like(shown[name], one) for name, one in came.items() if name in shown}
        return kept if len(kept) == len(came) else {**kept, CUT: CUT}
    if isinstance(shown, dict) and isinstance(came, dict):
        return {name: like(shown.get(name), one) for name, one in came.items()}
    if isinstance(shown, list) and isinstance(came, list):
        ways = [one for one in shown if one != CUT]
        last = shown[:1] == [CUT]
        some = came if CUT not in shown else came[-len(ways) :] if last else came[: len(ways)]
        kept_ones = [like(ways[min(at, len(ways) - 1)] if ways else None, one) for at, one in enumerate(some)]
        if len(some) == len(came):
            return kept_ones
        return [CUT, *kept_ones] if last else [*kept_ones, CUT]
    return came


def ids_back(text: str, reader: Reader) -> str:
    """The guide's own ids in place of those that came."""
    back = {came: shown for shown, came in reader.ids.items()}
    return UUID.sub(lambda found: back.get(found[0], found[0]), text)


def learn(reader: Reader, shown: Any, came: Any) -> None:
    """Take in which id of the guide stands for which that came, whatever else differs."""
    if isinstance(shown, dict) and isinstance(came, dict):
        for name in shown.keys() & came.keys():
            learn(reader, shown[name], came[name])
    elif isinstance(shown, list) and isinstance(came, list):
        first = len(came) - len(shown) + 1 if shown[:1] == [CUT] else 0
        for one, other in zip([one for one in shown if one != CUT], came[first:], strict=False):
            learn(reader, one, other)
    elif isinstance(shown, str) and isinstance(came, str) and UUID.fullmatch(shown) and UUID.fullmatch(came):
        reader.ids.setdefault(shown, came)


def renewed(text: str, reader: Reader) -> str:
    """The guide with the answers that come now."""
    came = ""

    def fence(found: re.Match[str]) -> str:
        nonlocal came
        kind, inside = found[1], found[2]
        if kind == "sh":
            if "loadwright key" not in inside and "lw_" not in inside:
                came = reader.follow(Step(inside, None, None))
            return found[0]
        if kind == "text":
            lines, before = came.rstrip().splitlines(), inside.rstrip("\n").splitlines()
            if before[-1:] == [CUT]:
                lines = [*lines[: len(before) - 1], CUT]
            return "\n".join(["```text", *lines, "```"])
        shown, answer = read_cut(inside), json.loads(came)
        learn(reader, shown, answer)
        rows = "\n".join(laid(like(shown, answer))).replace(f'"{CUT}"', CUT)
        return ids_back(f"```json\n{rows}\n```", reader)

    return FENCE.sub(fence, text)


def follow_all(postgres: Server, guides: Sequence[str], write: Collection[str]) -> None:
    """Follow guides one after the other in a gym of their own, and write those that are meant."""
    engine = create_engine(postgres.owner_url)
    with engine.begin() as connection:
        gym = gyms.add(connection, name=f"Gym of {guides[0]}", unit="kg", time_zone="Europe/Oslo")
        tx = enter(connection, Caller(gym, "", "guide", "owner", None), datetime.now(UTC))
        lifts.add_built_in(tx)
        key = keys.add(tx, name=KEY, right="owner")[1].text
    engine.dispose()
    database = Database(postgres.service_url)
    with served(create_app(database)) as base:
        reader = Reader(Shell({"LW": f"{base}/v1", "K": f"Authorization: Bearer {key}"}))
        for guide in guides:
            text = renewed(source(guide), reader)
            if guide in write:
                (GUIDES / f"{guide}.md").write_text(text, "utf-8")
    database.close()


def main() -> None:
    """Follow the guides on a PostgreSQL of their own, and write them."""
    wanted = sys.argv[1:] or [guide for row in FOLLOWED for guide in row]
    folder = Path(tempfile.mkdtemp(prefix="loadwright-guide-"))
    folder.chmod(0o711)
    try:
        with embedded.start(folder / "data") as postgres:
            migrate.upgrade(postgres.owner_url)
            for row in FOLLOWED:
                meant = [at for at, guide in enumerate(row) if guide in wanted]
                if meant:
                    follow_all(postgres, row[: meant[-1] + 1], wanted)
    finally:
        shutil.rmtree(folder, ignore_errors=True)


if __name__ == "__main__":
    main()
