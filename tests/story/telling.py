"""Words that the stories are told in: a lifter, a day, a set logged, an answer read."""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import datetime, timedelta
from typing import Any

from starlette.testclient import TestClient

from tests.story.shadow import Shadow

Json = dict[str, Any]


def kg(value: float) -> Json:
    """A load in kilograms."""
    return {"value": value, "unit": "kg"}


def lb(value: float) -> Json:
    """A load in pounds."""
    return {"value": value, "unit": "lb"}


def mass_of(load: Json) -> float:
    """A load in kilograms, by the pound's definition."""
    value: float = load["value"]
    return value * 0.45359237 if load["unit"] == "lb" else value


def read(answer: Any, status: int = 200) -> Json:
    """An answer's JSON, after its status was looked at."""
    assert answer.status_code == status, answer.text
    found: Json = answer.json()
    return found


def post(client: TestClient, path: str, body: Json, status: int = 201) -> Json:
    """Send a body; its answer."""
    return read(client.post(f"/v1{path}", json=body), status)


@dataclass
class Day:
    """A training day of a lifter, as a phone has it on its screen; sets are logged three minutes apart."""

    phone: TestClient
    id: str
    slots: list[Json]
    clock: datetime
    words: list[str] = field(default_factory=list)
    """All sentences that were shown."""
    shadow: Shadow | None = None
    """Is told each set of a lift that it knows."""
    body_kg: dict[str, float] = field(default_factory=dict)
    """What counts of the body, by lifts of which it is a part. [kg]"""
    ladder: bool = False
    """Loads are those that a ladder asks for: none is a slip."""

    @property
    def path(self) -> str:
        """Where the session is."""
        return f"/v1/sessions/{self.id}"

    def slot(self, lift: str) -> Json:
        """A line of the session."""
        return next(one for one in self.slots if one["lift"] == lift)

    def look(self) -> Json:
        """Read the session again."""
        found = read(self.phone.get(self.path))
        self.slots = found["slots"]
        return found

    def open(self) -> Json:
        """Open the session."""
        found = read(self.phone.patch(self.path, json={"state": "open"}))
        assert found["state"] == "open"
        self.slots = found["slots"]
        return found

    def finish(self, **how: Any) -> Json:
        """Finish the session."""
        found = read(self.phone.patch(self.path, json={"state": "finished", **how}))
        assert found["state"] == "finished"
        return found

    def set_of(self, lift: str, load: Json | None, reps: int, **more: Any) -> Json:
        """What a body says of a set of a lift of this day."""
        self.clock += timedelta(minutes=3)
        body = {"slot": self.slot(lift)["id"], "reps": reps, "at": self.clock.isoformat(), **more}
        return body if load is None else {**body, "load": load}

    def log(self, lift: str, load: Json | None, reps: int, **more: Any) -> Json:
        """Log a set of a lift; the whole answer."""
        found = read(self.phone.post(f"{self.path}/sets", json=self.set_of(lift, load, reps, **more)), 201)
        if found["next"] is not None:
            self.words.append(found["next"]["text"])
        self._tell(lift, load, reps, more)
        return found

    def warm_up(self, lift: str) -> Json:
        """Log the planned warm-ups of a lift, as planned; the last answer."""
        found: Json = {}
        for one in self.slot(lift)["sets"]:
            if one["role"] == "warm_up":
                found = self.log(lift, {**one["load"]}, one["reps"], role="warm_up")
        return found

    def _tell(self, lift: str, load: Json | None, reps: int, more: Json) -> None:
        """The same set for the shadow, from what was sent and not from what came back."""
        if self.shadow is None or lift not in self.shadow.lines:
            return
        kg = self.body_kg.get(lift, 0.0) + (0.0 if load is None else mass_of(load))
        rpe = 10 - more["rir"] if "rir" in more else more.get("rpe")
        failed = more.get("made") is False
        counts: Any = "fatigue" if more.get("role") == "warm_up" else "all"
        self.shadow.did(
            lift, kg, reps, rpe, felt=more.get("felt"), failed=failed, counts=counts, confirmed=self.ladder
        )  # fmt: skip

    def next(self, lift: str) -> Json:
        """The suggestion again."""
        return read(self.phone.get(f"{self.path}/next", params={"slot": self.slot(lift)["id"]}))

    def board(self) -> str:
        """The session as a coach writes it on a board."""
        answer = self.phone.get(self.path, headers={"Accept": "text/plain"})
        assert answer.status_code == 200, answer.text
        assert answer.headers["content-type"].startswith("text/plain")
        text: str = answer.text
        return text


def day(
    phone: TestClient, athlete: str, on: str, *, offset: str = "+01:00", shadow: Shadow | None = None,
    body_kg: dict[str, float] | None = None,
) -> Day:  # fmt: skip
    """The one session of a day; training begins at six in the evening. With a shadow, its day begins too."""
    if shadow is not None:
        shadow.day(on)
    today = read(phone.get(f"/v1/athletes/{athlete}/today", params={"on": on}))
    assert today["date"] == on
    (session,) = today["sessions"]
    begin = datetime.fromisoformat(f"{on}T18:00:00{offset}")
    return Day(phone, session["id"], session["slots"], begin, shadow=shadow, body_kg=body_kg or {})


def said(one: Json) -> str:
    """A set in short: `142.5 kg x 3`, `x 5 to 8` where the lifter chooses the load."""
    load = "" if one["load"] is None else f"{one['load']['value']:g} {one['load']['unit']} "
    to = one.get("reps_to")
    return f"{load}x {one['reps']}{f' to {to}' if to is not None and to != one['reps'] else ''}"


def plan(slot: Json, *roles: str) -> list[str]:
    """The sets of a slot that have one of the roles (none named: all but warm-ups), in short."""
    return [said(one) for one in slot["sets"] if (one["role"] in roles if roles else one["role"] != "warm_up")]


def only(slot: Json, role: str, number: int = 1) -> Json:
    """One set of a slot."""
    found: Json = next(one for one in slot["sets"] if one["role"] == role and one["number"] == number)
    return found


def per_side(one: Json) -> str:
    """What hangs on each side, heaviest first: `25 25 10`; with units where they are mixed: `45lb 20kg`."""
    plates = [plate["plate"] for plate in one["loading"]["per_side"] for _ in range(plate["count"])]
    mixed = any(plate["unit"] != "kg" for plate in plates)
    return " ".join(f"{plate['value']:g}{plate['unit'] if mixed else ''}" for plate in plates)


def result_of(one: Json, formula: str) -> float:
    """The number that a step of the reason came to."""
    found: float = next(step["result"]["value"] for step in one["why"] if step["formula"] == formula)
    return found


def exact(one: Json) -> float:
    """The load before it was rounded to what hangs."""
    found: float = one["loading"]["exact"]["value"]
    return found


def felt_as(rpe: float) -> float:
    """An effort as it is shown: to a tenth, from 4 to 10."""
    return round(min(max(rpe, 4.0), 10.0), 1)


def outcome(coming: Json, rpe: float) -> Json:
    """What the phone takes next after a report, without reception: of the outcomes that fit, the last counts."""
    fits = [one for one in coming["next_if"] if one["made"] is not False and (one["rpe_at_least"] or 0) <= rpe]
    found: Json = fits[-1]
    return found


def names(one: Json, name: str) -> list[float]:
    """All numbers of a name that went into the reason."""
    return [known["value"] for step in one["why"] for known in step["inputs"] if known["name"] == name]


def codes(one: Json) -> list[str]:
    """The cautions of an answer."""
    return [caution["code"] for caution in one["cautions"]]
