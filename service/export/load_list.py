"""A load list to print or to pin to the wall: plain text, 80 columns, one line a load."""

from __future__ import annotations

import textwrap

from service.core.tell.answers import ListedLoad, LoadList
from service.core.units import say
from service.export.board import PLAIN, WIDTH

HEADS = {1: "one left", 2: "two left", 3: "three left"}


def text(listed: LoadList) -> str:
    """The list, ending in a line break; a dash where not even one repetition leaves so many."""
    lines = _wrapped(listed.text)
    if listed.loads:
        heads = [HEADS[count.left] for count in listed.loads[0].counts]
        lines += ["", "  " + f"{'load':<12}" + "".join(f"{head:>12}" for head in heads)]
        lines += [_line(one) for one in listed.loads]
    lines += [line for caution in listed.cautions for line in ("", *_wrapped(f"Take care: {caution.text}"))]
    return "\n".join(lines) + "\n"


def _line(one: ListedLoad) -> str:
    counts = "".join(f"{'-' if count.reps is None else count.reps:>12}" for count in one.counts)
    return f"  {say(one.load):<12}{counts}"


def _wrapped(sentence: str) -> list[str]:
    return textwrap.wrap(sentence.translate(PLAIN), WIDTH, subsequent_indent="  ", break_on_hyphens=False)
