"""The simulation, printed as the guide's tables.

    python -m tests.simulation             about five minutes on two cores
    python -m tests.simulation --full      four times as many lifters
    python -m tests.simulation --write     and put into service/guides/numbers.md, with the pictures
    python -m tests.simulation --development [--only TRIAL]   other lifters, for looking while something is changed

The committed tables are of held-out lifters: whoever changes the model looks at the others while changing it.
"""

from __future__ import annotations

import argparse
from pathlib import Path

from service.core.model.stored import MODEL_VERSION
from tests.simulation import pictures
from tests.simulation.lifters import DEVELOPMENT, HELD_OUT
from tests.simulation.running import run
from tests.simulation.table import tables

GUIDE = Path(__file__).resolve().parents[2] / "service/guides/numbers.md"
BEGIN, END = "[simulation]: #simulation", "[simulation-end]: #simulation-end"
"""Lines that are not shown; what is between them is written by this program."""
SIZES = {"main": 800, "stress": 200, "designed": 300}


def written(guide: str, tables: str) -> str:
    """The guide with the tables between its markers; the markers come at its end if there are none."""
    if BEGIN not in guide:
        guide = f"{guide.rstrip()}\n\n{BEGIN}\n\n{END}\n"
    before, rest = guide.split(BEGIN)
    after = rest.split(END)[1]
    return f"{before}{BEGIN}\n\n{tables.strip()}\n\n{END}{after}"


def tried() -> str:
    """Which model the tables are of, in a sentence."""
    return f"Printed by `python -m tests.simulation`; the model is of version {MODEL_VERSION}."


def main() -> None:
    """Run what is asked for."""
    parser = argparse.ArgumentParser(prog="python -m tests.simulation", description=__doc__.splitlines()[0])
    parser.add_argument("--full", action="store_true", help="four times as many lifters")
    parser.add_argument("--write", action="store_true", help="put the tables into the guide")
    parser.add_argument("--development", action="store_true", help="lifters that may be looked at")
    parser.add_argument("--only", help="trials whose name contains this")
    parser.add_argument("--lifters", type=int, help="so many in each trial")
    asked = parser.parse_args()
    times = 4 if asked.full else 1
    sizes = {group: asked.lifters or times * size for group, size in SIZES.items()}
    found = run(sizes, DEVELOPMENT if asked.development else HELD_OUT, only=asked.only)
    text = f"{tried()}\n\n{tables(found, sizes)}"
    print(text)
    if asked.write:
        if asked.development or asked.only or asked.lifters:
            parser.error("only the whole run with held-out lifters is written")
        GUIDE.write_text(written(GUIDE.read_text("utf-8"), text), "utf-8")
        pictures.write()


if __name__ == "__main__":
    main()
