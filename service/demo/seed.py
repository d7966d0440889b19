"""Makes the invented gym's people and their weeks of log, by the service's own suggestions.

Each start brings the log up to date: what is missing is made, sessions of past days are trained, and what is there
stays as it is. So a demo that was broken off goes on, and one that is started weeks later has a session today.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass, field
from datetime import date, datetime, timedelta
from itertools import cycle
from threading import Lock
from zoneinfo import ZoneInfo

from service.demo.client import Client, Json
from service.demo.scenario import (
    ABSENCE,
    AWAY,
    GROUP,
    GROUP_NAME,
    IN_POUNDS,
    LEAD,
    MEMBERS,
    NOTE,
    OVERRIDE,
    PEOPLE,
    PLACES,
    TEMPLATES,
    TIME_ZONE,
    WEEKS_BEHIND,
    Person,
)

Progress = Callable[[int, int], None]
"""Is told how many training days are done, and of how many."""

AT_ONCE = 3
"""People who train at the same time."""
MOST_SETS = 60
"""More than any session has: one that goes on and on is a fault of the service, not to be waited for."""
WEEKDAYS = ("monday", "tuesday", "wednesday", "thursday", "friday", "saturday", "sunday")
ON_THE_WAY = ("warm_up", "build_up")
EVENING, BETWEEN_SETS = 18, timedelta(minutes=4)


@dataclass(frozen=True, slots=True)
class Moment:
    """When the demo is started, on the gym's clock."""

    now: datetime

    @property
    def today(self) -> date:
        """The gym's day."""
        return self.now.date()

    def day(self, ahead: int) -> str:
        """A day by how far ahead it is; negative: behind."""
        return str(self.today + timedelta(days=ahead))


@dataclass(slots=True)
class Count:
    """Counts training days for whoever watches."""

    tell: Progress
    total: int
    done: int = 0
    _lock: Lock = field(default_factory=Lock)

    def one_more(self) -> None:
        """A training day is done."""
        with self._lock:
            self.done += 1
            self.tell(self.done, self.total)


def moment(now: datetime) -> Moment:
    """An instant on the gym's clock."""
    return Moment(now.astimezone(ZoneInfo(TIME_ZONE)))


def seed(base: str, key: str, at: Moment, tell: Progress) -> None:
    """Bring the gym up to date over HTTP.

    Raises
    ------
    Refused, OSError
        If the service refuses a call, or cannot be reached.
    """
    client = Client(base, key)
    set_up(client, at)
    for person in PEOPLE:
        lay_out(client, person, at)
    due = {person.ref: past_sessions(client, person, at) for person in PEOPLE}
    count = Count(tell, sum(len(sessions) for sessions in due.values()))
    tell(0, count.total)

    def weeks_of(person: Person) -> None:
        own = Client(base, key)
        felt = cycle(person.felt)
        for session in due[person.ref]:
            train(own, person, session, felt)
            count.one_more()
        own.close()

    client.close()  # a connection that is not used for seconds is closed by the server: the next request opens another
    with ThreadPoolExecutor(AT_ONCE) as pool:
        list(pool.map(weeks_of, PEOPLE))
    begin_today(client, at)
    client.close()


def set_up(client: Client, at: Moment) -> None:
    """Make places, templates, people with their maxes, a group, and what the coach decided, unless they are there."""
    known = {one["ref"] for one in client.get("/athletes?limit=200")["items"]}
    if {person.ref for person in PEOPLE} <= known:
        return
    for ref, place in PLACES.items():
        client.put(f"/places/ref:{ref}", place)
    for ref, template in TEMPLATES.items():
        client.put(f"/templates/ref:{ref}", template)
    client.put(f"/groups/ref:{GROUP}", {"name": GROUP_NAME})
    client.put(f"/groups/ref:{GROUP}/notes/{at.day(-1)}", {"text": NOTE})
    before = at.day(-7 * WEEKS_BEHIND - 3)
    decision = {**OVERRIDE, "from": at.day(-4), "until": at.day(10)}
    for person in PEOPLE[::-1]:  # the last one made tells that all are there
        path = f"/athletes/ref:{person.ref}"
        born = {} if person.born_years_ago is None else {"birth_year": at.today.year - person.born_years_ago}
        client.put(path, {"name": person.name, "place": f"ref:{person.place}", **person.about, **born})
        if person.weight is not None:
            client.put(f"{path}/body-weights/{before}", {"load": person.weight})
        for lift, load in person.maxes:
            tested = {"lift": lift, "kind": "tested", "load": load, "date": before, "source": "Spring test"}
            client.post(f"{path}/maxes", tested, once=f"demo-max-{person.ref}-{lift}")
        if person.ref in MEMBERS:
            client.put(f"/groups/ref:{GROUP}/athletes/ref:{person.ref}")
        if person is IN_POUNDS:
            client.post(f"{path}/overrides", decision, once="demo-override")
        if person.ref == AWAY:
            kind, first, last = ABSENCE
            absence = {"kind": kind, "from": at.day(first), "until": at.day(last)}
            client.post(f"{path}/absences", absence, once="demo-absence")


def lay_out(client: Client, person: Person, at: Moment) -> None:
    """Lay a block out: the first one from some weeks ago, the next ones when nothing is planned any more."""
    path = f"/athletes/ref:{person.ref}"
    if client.get(f"{path}/sessions?limit=1&from={at.day(0)}")["items"]:
        return
    begun = client.get(f"/blocks?limit=1&athlete=ref:{person.ref}")["items"]
    start = at.today if begun else at.today - timedelta(weeks=person.weeks_behind)
    days = [WEEKDAYS[(start.weekday() + ahead) % 7] for ahead in person.days]
    order = {"template": f"ref:{person.template}", "athletes": [f"ref:{person.ref}"], "start": str(start)}
    laid = client.post("/blocks", {**order, "weekdays": days}, once=f"demo-block-{person.ref}-{start}")
    if person.short is not None:
        *which, minutes = person.short
        (one,) = (one for one in laid["items"][0]["block"]["sessions"] if [one["week"], one["number"]] == which)
        client.patch(f"/sessions/{one['id']}", {"minutes_available": minutes})


def past_sessions(client: Client, person: Person, at: Moment) -> list[Json]:
    """The sessions of past days that are not finished, the oldest first."""
    path = f"/athletes/ref:{person.ref}/sessions?limit=200&to={at.day(-1)}&state="
    found: list[Json] = [*client.get(f"{path}open")["items"], *client.get(f"{path}planned")["items"]]
    return found


def train(client: Client, person: Person, session: Json, felt: Iterator[float | None]) -> None:
    """Do a session as it is suggested, with the efforts of the person's own; one that was broken off just ends."""
    path = f"/sessions/{session['id']}"
    if session["state"] == "planned":
        training = Training(client, person, session, felt)
        for slot in client.patch(path, {"state": "open"})["slots"]:
            training.slot(slot)
    client.patch(path, {"state": "finished", "minutes": 60 + 5 * (session["number"] or 1)})


@dataclass(slots=True)
class Training:
    """A session of a past evening, set by set."""

    client: Client
    person: Person
    session: Json
    felt: Iterator[float | None]
    sets: int = 0

    def slot(self, slot: Json) -> None:
        """Do one slot, from its first build-up or work set to where the service says that the lift is done."""
        coming: Json | None = next((one for one in slot["sets"] if one["role"] != "warm_up"), None)
        while coming is not None and self.sets < MOST_SETS:
            following = self.log(slot, coming)["next"]
            if following["kind"] == "choice":  # after pain: lighter, where that is offered, else the lift ends
                following = following["options"][0]["set"]
                coming = following
                continue
            coming = following if following["kind"] == "set" and following["slot"] == slot["id"] else None

    def log(self, slot: Json, coming: Json) -> Json:
        """Log a set as it was suggested, with how it felt; the answer."""
        self.sets += 1
        evening = datetime.fromisoformat(f"{self.session['date']}T{EVENING}:00:00").replace(tzinfo=ZoneInfo(TIME_ZONE))
        body = {
            "slot": slot["id"],
            "role": coming["role"],
            "at": (evening + self.sets * BETWEEN_SETS).isoformat(),
            **self.done(slot["lift"], coming),
            **self.otherwise(slot["lift"], coming),
        }
        if body.get("made") is False:
            body["reps"] -= 1
            body.pop("rpe", None)
        if "unit" in body:
            body["load"]["unit"] = body.pop("unit")
        path = f"/sessions/{self.session['id']}/sets"
        answer: Json = self.client.post(path, body, once=f"{self.session['id']}-{self.sets}")
        return answer

    def done(self, lift: str, coming: Json) -> Json:
        """Load, repetitions and effort of a set."""
        if coming["seconds"] is not None:
            return {"seconds": coming["seconds"]}
        load = coming["load"] or self.person.chosen.get(lift)
        reps, most = coming["reps"] or 1, coming["reps_to"]
        done: Json = {"reps": reps if most is None else most if lift in self.person.all_of_it else (reps + most) // 2}
        if coming["metres"] is not None:
            done = {"metres": coming["metres"]}
        if load is not None:
            done["load"] = {"value": load["value"], "unit": load["unit"]}
        if lift in self.person.finds and load is not None:
            return done | left(load["kg"], self.person.finds[lift])
        expected, off = coming["expected_rpe"], next(self.felt)
        if expected is None and lift in self.person.chosen:
            expected = 7.5  # what was chosen is about right
        if expected is not None and off is not None:
            done["rpe"] = halves(expected + off)
        return done

    def otherwise(self, lift: str, coming: Json) -> Json:
        """What happened in place of the plan, on the first set of a role."""
        where = (self.session["week"], self.session["number"], lift, coming["role"])
        return self.person.happened.get(where, {}) if coming["number"] == 1 else {}


def left(load: float, found: float) -> Json:
    """How many repetitions are left on a ladder, where `found` leaves three; one more for each 4 % less. [kg]

    >>> left(60, 80), left(76, 80), left(80, 80)
    ({'rir': 5, 'or_more': True}, {'rir': 4}, {'rir': 3})
    """
    more = 3 + int((1 - load / found) / 0.04)
    return {"rir": 5, "or_more": True} if more >= 5 else {"rir": max(more, 0)}


def halves(rpe: float) -> float:
    """An effort in halves, as it is told.

    >>> halves(7.3), halves(10.4), halves(7.0)
    (7.5, 10, 7)
    """
    told = min(max(round(2 * rpe) / 2, 1), 10)
    return int(told) if told == int(told) else told


def begin_today(client: Client, at: Moment) -> None:
    """Give the lead a session today, opened and built up as far as the set before the last build-up set."""
    path = f"/athletes/ref:{LEAD.ref}"
    day = f"{path}/today?why=false&on={at.day(0)}"
    today = client.get(day)["sessions"]
    if not any(one["state"] in ("open", "planned") and one["slots"] for one in today):
        (later,) = client.get(f"{path}/sessions?limit=1&state=planned&from={at.day(0)}")["items"]
        client.patch(f"/sessions/{later['id']}", {"date": at.day(0)})
        today = client.get(day)["sessions"]
    session = next(one for one in today if one["state"] in ("open", "planned") and one["slots"])
    if session["state"] == "open":
        return
    slot = client.patch(f"/sessions/{session['id']}", {"state": "open"})["slots"][0]
    way = [one for one in slot["sets"] if one["role"] in ON_THE_WAY][:-1]
    midnight = at.now.replace(hour=0, minute=0, second=0, microsecond=0)
    for number, one in enumerate(way):
        moment_of = max(at.now - (len(way) - number) * BETWEEN_SETS, midnight + timedelta(seconds=number))
        body = {
            "slot": slot["id"],
            "role": one["role"],
            "load": {"value": one["load"]["value"], "unit": one["load"]["unit"]},
            "reps": one["reps"],
            "at": moment_of.isoformat(timespec="seconds"),
        }
        if one["role"] == "build_up":
            body["felt"] = "as_expected"
        client.post(f"/sessions/{session['id']}/sets", body, once=f"{session['id']}-{number}")
