"""How a group shares bars and plates: as many bars at once as there are, with as few plates handled as can be."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping, Sequence
from math import ceil, inf

from service.core.answers import BarLoading, DumbbellLoading, StackLoading
from service.core.records import Kit, Lift
from service.core.sharing.handled import Segment, handled_by_segments
from service.core.sharing.needs import bars_suffice, plate_needs, short_of
from service.core.sharing.reach import out_of_reach
from service.core.sharing.records import InTurn, Lifter, PlateNeed, Shared, Wave
from service.core.sharing.turns import in_order, shared_bar
from service.core.units import Load, say
from service.core.words import listing, plural

Station = tuple[str, Load]
"""A lift with the bar that it is done on."""
Bars = list[list[Lifter]]
Costs = Mapping[Station, Mapping[Segment, int]]
"""For each lift with its bar, what lifters next to each other make to handle there."""


def share(lifters: Sequence[Lifter], kit: Kit, lifts: Mapping[str, Lift]) -> Shared:
    """How lifters who are at it at the same time share what a place has.

    Everything goes at once where bars and plates suffice; else lifts follow one another in waves. Within a wave the
    lift with most lifters a bar gets the next bar, as long as bars and plates last. On one bar are lifters with loads
    next to each other, split so that nobody waits longer than must be and as few plates as possible are handled.

    Parameters
    ----------
    lifters : sequence of Lifter
        Each with the one lift that is done now; those without sets are left out.
    kit : Kit
        What the place has; its bars are counted.
    lifts : mapping
        Lifts by word, for their names.

    Returns
    -------
    Shared
        No wave needs more than the place has. Choosing bars is greedy; splitting lifters over them is exact.
    """
    busy = [one for one in lifters if one.sets]
    stations: dict[Station, list[Lifter]] = defaultdict(list)
    for one in in_order(busy):
        loading = one.sets[-1].loading
        if isinstance(loading, BarLoading):
            stations[one.lift, loading.bar].append(one)
    found, advice = [], []
    costs = {station: handled_by_segments(own) for station, own in stations.items()}
    for wave in _waves(stations, kit):
        bars = _more_bars(wave, kit, costs)
        flat = [group for each in bars.values() for group in each]
        found.append(Wave(bars=tuple(shared_bar(group) for group in flat), plates=plate_needs(flat, kit)))
        advice += [text for station, each in bars.items() if (text := _short(station, each, bars, kit, lifts, costs))]
    if len(found) > 1:
        advice.insert(0, _one_after_the_other(found, lifts))
    return Shared(waves=tuple(found), in_turn=_in_turn(busy), advice=(*advice, *out_of_reach(busy, lifts)))


def _waves(stations: Mapping[Station, list[Lifter]], kit: Kit) -> list[dict[Station, list[Lifter]]]:
    """Lifts that go at the same time, each with one bar: as many as bars and plates allow, the fullest first."""
    left = sorted(stations.items(), key=lambda item: (-len(item[1]), item[0][0], item[0][1].grains))
    waves = []
    while left:
        wave: dict[Station, list[Lifter]] = {}
        waiting = []
        for station, own in left:
            tried = {**wave, station: own}
            if not wave or _fits({one: [each] for one, each in tried.items()}, kit):
                wave = tried
            else:
                waiting.append((station, own))
        waves.append(wave)
        left = waiting
    return waves


def _more_bars(wave: Mapping[Station, list[Lifter]], kit: Kit, costs: Costs) -> dict[Station, Bars]:
    """The lifters of each lift on as many bars as can be used."""
    bars: dict[Station, Bars] = {station: [own] for station, own in wave.items()}
    open_to_more = {station for station, own in wave.items() if len(own) > 1}
    while open_to_more:
        station = max(open_to_more, key=lambda one: (len(wave[one]) / len(bars[one]), one[0]))
        split = split_evenly(wave[station], len(bars[station]) + 1, costs[station])
        if _fits({**bars, station: split}, kit):
            bars[station] = split
            if len(split) == len(wave[station]):
                open_to_more.remove(station)
        else:
            open_to_more.remove(station)
    return bars


def split_evenly(lifters: Sequence[Lifter], count: int, cost: Mapping[Segment, int]) -> Bars:
    """Lifters, in order, on so many bars: none with more than must be, and the fewest plates handled in all.

    `cost`: what `handled_by_segments` found for them.
    """
    most, total = ceil(len(lifters) / count), len(lifters)
    best: list[list[float]] = [[inf] * (total + 1) for _ in range(count + 1)]
    cut: list[list[int]] = [[0] * (total + 1) for _ in range(count + 1)]
    best[0][0] = 0.0
    for bar in range(1, count + 1):
        for end in range(1, total + 1):
            for begin in range(max(0, end - most), end):
                now = best[bar - 1][begin] + cost[begin, end]
                if now < best[bar][end]:
                    best[bar][end], cut[bar][end] = now, begin
    found: Bars = []
    end = total
    for bar in range(count, 0, -1):
        begin = cut[bar][end]
        found.append(list(lifters[begin:end]))
        end = begin
    return found[::-1]


def _fits(bars: Mapping[Station, Bars], kit: Kit) -> bool:
    flat = [group for each in bars.values() for group in each]
    return bars_suffice({station: len(each) for station, each in bars.items()}, kit) and not short_of(flat, kit)


def _short(
    station: Station, own: Bars, bars: Mapping[Station, Bars], kit: Kit, lifts: Mapping[str, Lift], costs: Costs
) -> str | None:
    """What keeps a lift from another bar, where three or more share one."""
    most = max(len(group) for group in own)
    lifters = [one for group in own for one in group]
    if most < 3 or len(own) == len(lifters):
        return None
    name, mass = _name(station[0], lifts), say(station[1])
    tried = {**bars, station: split_evenly(lifters, len(own) + 1, costs[station])}
    if not bars_suffice({one: len(each) for one, each in tried.items()}, kit):
        return f"{name}: {most} share a bar, because there is no further bar of {mass} for it."
    missing = short_of([group for each in tried.values() for group in each], kit)
    return f"{name}: {most} share a bar. A further bar would need {_missing(missing)}."


def _missing(short: Sequence[PlateNeed]) -> str:
    return listing(tuple(f"{one.needed - one.available} more of {say(one.plate)}" for one in short))


def _one_after_the_other(waves: Sequence[Wave], lifts: Mapping[str, Lift]) -> str:
    named = [listing(tuple(dict.fromkeys(_name(bar.lift, lifts).lower() for bar in wave.bars))) for wave in waves]
    return (
        f"Bars or plates do not suffice for everything at once: first {named[0]}, then {', then '.join(named[1:])}. "
        "Others do what needs no bar meanwhile."
    )


def _in_turn(lifters: Sequence[Lifter]) -> tuple[InTurn, ...]:
    """Dumbbells and machines that more than one needs."""
    wanted: dict[str, list[str]] = defaultdict(list)
    for one in lifters:
        things = set()
        for each in one.sets:
            if isinstance(each.loading, DumbbellLoading):
                things.add(f"the pair of {say(each.load)}")
            elif isinstance(each.loading, StackLoading):
                things.add("the machine")
        for thing in things:
            wanted[f"{one.lift.replace('-', ' ')}: {thing}" if thing == "the machine" else thing].append(one.name)
    return tuple(
        InTurn(what=what, names=tuple(sorted(names))) for what, names in sorted(wanted.items()) if len(names) > 1
    )


def _name(lift: str, lifts: Mapping[str, Lift]) -> str:
    known = lifts.get(lift)
    return lift.replace("-", " ").capitalize() if known is None else known.name


def waiting(shared: Shared) -> str:
    """How many share a bar at most, in words."""
    most = max((len(bar.names) for wave in shared.waves for bar in wave.bars), default=0)
    return "Everybody has a bar." if most <= 1 else f"At most {plural(most, 'lifter')} share a bar."
