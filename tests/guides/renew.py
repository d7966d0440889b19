"""Writes the answers in the first hour anew, with the same members shown; run by hand after a change of the numbers.

    python -m tests.guides.renew

What changed is then read in the difference: sentences around the answers, and the arithmetic in test_numbers.py, are
mended by hand.
"""

from __future__ import annotations

import json
import re
import shutil
import tempfile
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

from sqlalchemy import create_engine

from service import embedded
from service.app import create_app
from service.demo.tell import cut, laid
from service.store import gyms, keys, lifts, migrate
from service.store.session import Caller, Database, enter
from tests.guides.pasted import CUT, UUID, Reader, Shell, Step, read_cut, served

GUIDE = Path(__file__).resolve().parents[2] / "service/guides/first-hour.md"
FENCE = re.compile(r"^```(\w+)\n(.*?)^```$", re.MULTILINE | re.DOTALL)


def names(shown: Any, at: str = "") -> list[str]:
    """The ways to everything that is shown, as `cut` takes them."""
    if CUT not in json.dumps(shown, ensure_ascii=False):
        return [at]
    if isinstance(shown, list):
        found = [way for one in shown if one != CUT for way in names(one, at)]
        return list(dict.fromkeys(found))
    return [way for name, one in shown.items() if name != CUT for way in names(one, f"{at}.{name}" if at else name)]


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
        for one, other in zip(shown, came, strict=False):
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
            return f"```text\n{came.rstrip()}\n```"
        shown, answer = read_cut(inside), json.loads(came)
        learn(reader, shown, answer)
        rows = "\n".join(laid(cut(answer, names(shown))))
        return ids_back(f"```json\n{rows}\n```", reader)

    return FENCE.sub(fence, text)


def main() -> None:
    """Follow the guide in a gym of its own on a PostgreSQL of its own, and write it."""
    folder = Path(tempfile.mkdtemp(prefix="loadwright-guide-"))
    folder.chmod(0o711)
    try:
        with embedded.start(folder / "data") as postgres:
            migrate.upgrade(postgres.owner_url)
            engine = create_engine(postgres.owner_url)
            with engine.begin() as connection:
                gym = gyms.add(connection, name="My gym", unit="kg", time_zone="Europe/Oslo")
                tx = enter(connection, Caller(gym, "", "guide", "owner", None), datetime.now(UTC))
                lifts.add_built_in(tx)
                key = keys.add(tx, name="guide", right="owner")[1].text
            engine.dispose()
            database = Database(postgres.service_url)
            with served(create_app(database)) as base:
                reader = Reader(Shell({"LW": f"{base}/v1", "K": f"Authorization: Bearer {key}"}))
                text = renewed(GUIDE.read_text("utf-8"), reader)
            database.close()
        GUIDE.write_text(text, "utf-8")
    finally:
        shutil.rmtree(folder, ignore_errors=True)


if __name__ == "__main__":
    main()
