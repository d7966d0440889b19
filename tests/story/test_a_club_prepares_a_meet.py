"""The lifters of the lime works prepare a meet on Saturday 23 May: four of them, one block, a burst pipe.

All loads are percentages of a tested max, so that each is done by hand. The hall has every multiple of 2.5 kg from 20
on, the cellar by the harbour every multiple of 5 kg. Week by week, with what hangs in the hall:

    bench 60 %          Hedda 70: 42, 42.5   Mats 110: 66, 65   Joren 60: 36, 35   Ines 65: 39, 40
    squat               Hedda 120            Mats 160           Joren 100          Ines 112
      80 %              96: 95               128: 127.5         80                 89.6: 90
      82.5 %            99: 100              132: 132.5         82.5               92.4: 92.5 (cellar: 90)
    deadlift            Hedda 152            Mats 200           Joren 120          Ines 140
      80 %              121.6: 122.5         160                96: 95             112: 112.5
      82.5 %            125.4: 125           165                99: 100            115.5: 115 (cellar: 115)
      85 %              129.2: 130           170                102: 102.5         119: 120
      87.5 %            133: 132.5           175                105                122.5

Repetitions by the usual curve, which the coach has pinned: share(n) = (1 + 0.116 (n - 1))^-0.4 of the max for n
repetitions to failure; a work set with `left` repetitions left takes 0.6 % times 2^(-(left - 2) / 1.5).
"""

from __future__ import annotations

from typing import Any

import pytest
from starlette.testclient import TestClient

from tests.story.telling import Day, Json, codes, day, kg, only, per_side, plan, post, read, said

HALL: dict[str, Any] = {
    "name": "Lime hall",
    "bars": [{"load": kg(20), "count": 2}],
    "plates": [{"load": kg(20), "count": 8}, *({"load": kg(mass), "count": 4} for mass in (10, 5, 2.5, 1.25))],
}
CELLAR: dict[str, Any] = {
    "name": "Harbour cellar",
    "bars": [{"load": kg(20)}],
    "plates": [{"load": kg(20), "count": 4}, *({"load": kg(mass), "count": 2} for mass in (10, 5, 2.5))],
}
LIFTERS: dict[str, tuple[float, float, float]] = {
    "Hedda Lind": (70, 120, 152),
    "Ines Tveit": (65, 112, 140),
    "Joren Falk": (60, 100, 120),
    "Mats Orre": (110, 160, 200),
}
"""Tested in bench press, squat and deadlift. [kg]"""


def session(name: str, lift: str, sets: int, reps: int, percent: float) -> Json:
    """A session of one lift."""
    target = {"kind": "percent", "reps": reps, "percent": percent, "basis": "tested"}
    return {
        "name": name,
        "slots": [{"lift": lift, "scheme": {"kind": "sets_at_target", "sets": sets}, "target": target}],
    }


PART: Json = {
    "name": "To the meet",
    "weeks": 4,
    "week": {
        "sessions": [
            session("Light", "bench-press", 3, 5, 60),
            session("Squat", "squat", 4, 3, 80),
            session("Pull", "deadlift", 3, 3, 80),
        ]
    },
    "progressions": [
        {"kind": "each_week", "change": "percent", "by": 2.5, "lift": lift} for lift in ("squat", "deadlift")
    ],
}
WEEKS = [
    ("2026-04-24", "2026-04-27", "2026-04-29"),
    ("2026-05-01", "2026-05-04", "2026-05-06"),
    ("2026-05-08", "2026-05-11", "2026-05-13"),
    ("2026-05-15", "2026-05-18", "2026-05-20"),
]
"""A Friday, a Monday, a Wednesday; the meet is on Saturday 23 May."""
MEET = "2026-05-23"


class Club:
    """The club: its coach, its two places, its four lifters."""

    def __init__(self, coach: TestClient) -> None:
        self.coach = coach
        self.hall, self.cellar = (post(coach, "/places", place)["id"] for place in (HALL, CELLAR))
        self.group = post(coach, "/groups", {"name": "Lime lifters"})["id"]
        self.template = post(coach, "/templates", {"name": "To the meet", "parts": [PART]})["id"]
        self.ids = {name: self._join(name, *maxes) for name, maxes in LIFTERS.items()}
        self.blocks: dict[str, str] = {}

    def _join(self, name: str, bench: float, squat: float, deadlift: float) -> str:
        who: Json = {"name": name, "place": self.hall, "settings": {"curve": "default"}}
        who |= {"birth_year": 2010} if name == "Joren Falk" else {}
        athlete = str(post(self.coach, "/athletes", who)["id"])
        for lift, value in (("bench-press", bench), ("squat", squat), ("deadlift", deadlift)):
            tested = {"lift": lift, "kind": "tested", "load": kg(value), "date": "2026-03-28"}
            post(self.coach, f"/athletes/{athlete}/maxes", tested)
        read(self.coach.put(f"/v1/groups/{self.group}/athletes/{athlete}"), 201)
        return athlete

    def day(self, name: str, on: str) -> Day:
        """A day of one of them."""
        return day(self.coach, self.ids[name], on, offset="+02:00")

    def sessions(self, name: str) -> list[Json]:
        """The sessions of somebody's block."""
        found: list[Json] = read(self.coach.get(f"/v1/blocks/{self.blocks[name]}/sessions"))["items"]
        return found

    def page(self, on: str) -> Json:
        """The group's day on one page."""
        return read(self.coach.get(f"/v1/groups/{self.group}/today?on={on}"))

    def second_line(self, name: str, on: str) -> dict[str, list[str]]:
        """What somebody does after the first lift of a day."""
        return {slot["lift"]: plan(slot) for slot in self.day(name, on).slots[1:]}

    def train(self, on: str, reps: int, sets: int, **loads: float) -> None:
        """Those who are named by their first names find this load in their first line, and lift it."""
        for first, load in loads.items():
            name = next(one for one in LIFTERS if one.startswith(first))
            training = self.day(name, on)
            assert plan(training.slots[0]) == [f"{load:g} kg x {reps}"] * sets, (name, on)
            for slot in training.slots:
                for one in slot["sets"]:
                    if one["role"] != "warm_up":
                        training.log(slot["lift"], kg(one["load"]["value"]), one["reps"], role=one["role"])
            training.finish()


@pytest.fixture
def club(coach: TestClient) -> Club:
    """The club in April."""
    return Club(coach)


def test_four_weeks_to_a_meet(club: Club, gym: Any) -> None:
    the_block_is_laid_out_backwards(club)
    they_share_two_bars(club)
    the_first_week_is_trained(club)
    the_last_week_is_made_lighter(club)
    ines_trains_by_the_harbour(club)
    the_missed_week_is_merged(club)
    nothing_heavy_on_the_new_floor(club)
    the_last_week_is_as_it_was_changed(club)
    the_youngest_is_tested(club, gym.client("log"))


def the_block_is_laid_out_backwards(club: Club) -> None:
    # Nothing heavy on Thursday 21 and Friday 22: squats and deadlifts at 80 % and more are heavy, the light bench is
    # not. So the last pull is on Wednesday 20, the squats on Monday, the bench on the Friday before; and so on back.
    order = {"template": club.template, "group": club.group, "end": MEET, "weekdays": ["monday", "wednesday", "friday"]}
    order["wishes"] = {"light_before": [{"date": MEET, "days": 2, "must": True}]}
    tried = read(club.coach.post("/v1/blocks?dry_run=true", json=order))
    assert (tried["starts_on"], tried["ends_on"], tried["unmet"]) == (WEEKS[0][0], WEEKS[3][2], [])
    laid = post(club.coach, "/blocks", order)
    names = {athlete: name for name, athlete in club.ids.items()}
    club.blocks = {names[one["athlete"]]: one["block"]["id"] for one in laid["items"]}
    assert sorted(club.blocks) == sorted(LIFTERS)
    for name in LIFTERS:
        assert [one["date"] for one in club.sessions(name)] == [on for week in WEEKS for on in week]


def they_share_two_bars(club: Club) -> None:
    # Two bars for four: those with loads next to each other share one. Joren 80: 30 a side, 20 and 10; Ines 90: 5 more.
    # Hedda 95: 37.5 a side; Mats 127.5: 53.75 a side, for which 10, 5 and 2.5 have to come off first.
    (place,) = club.page("2026-04-27")["places"]
    (wave,) = place["rounds"][0]["shared"]["waves"]
    light, heavy = wave["bars"]
    assert (light["names"], heavy["names"]) == (["Joren Falk", "Ines Tveit"], ["Hedda Lind", "Mats Orre"])
    work = [turn["text"] for turn in light["turns"] if turn["role"] == "target_set"]
    assert work[1:] == ["Each side: put on 5.", "Each side: take off 5."] * 3 + ["Each side: put on 5."]
    last = [turn["text"] for turn in heavy["turns"]][-4:]
    down, up = (
        "Each side: take off 1.25 2.5 10 20; then put on 10 5 2.5.",
        "Each side: take off 2.5 5 10; then put on 20 10 2.5 1.25.",
    )
    # Mats has five warm-ups, Hedda four: he does his last set of 127.5 alone.
    assert last == [up, down, up, "Leave the bar as it is."]
    for bar in (light, heavy):
        assert bar["plates_handled"] == hung_by_hand(bar["turns"])
    # At once: 20 and 20 20; 10 and 10; 5 and 5; 1.25 with Mats. Warm-ups of Joren and Ines take a pair of 2.5.
    assert [(one["plate"]["value"], one["needed"], one["available"]) for one in wave["plates"]] == [
        (20, 6, 8), (10, 4, 4), (5, 4, 4), (2.5, 4, 4), (1.25, 2, 4),
    ]  # fmt: skip


def hung_by_hand(turns: list[Json]) -> int:
    """A bar is loaded turn by turn as the page says; how many plates that takes, both sides together."""
    bar: list[float] = []
    handled = 0
    for turn in turns:
        off, on = (
            [one["plate"]["value"] for one in turn[what] for _ in range(one["count"])]
            for what in ("take_off", "put_on")
        )
        for plate in off:
            assert bar.pop() == plate, "the outermost comes off first"
        bar += on
        assert bar == sorted(bar, reverse=True), "the heaviest hang innermost"
        assert 20 + 2 * sum(bar) == turn["load"]["kg"]
        handled += 2 * (len(off) + len(on))
    return handled


def the_first_week_is_trained(club: Club) -> None:
    friday, monday, wednesday = WEEKS[0]
    club.train(friday, 5, 3, Hedda=42.5, Mats=65, Joren=35, Ines=40)
    club.train(monday, 3, 4, Hedda=95, Mats=127.5, Joren=80, Ines=90)
    club.train(wednesday, 3, 3, Hedda=122.5, Mats=160, Joren=95, Ines=112.5)


def the_last_week_is_made_lighter(club: Club) -> None:
    # Squats 5 points lighter: 87.5 - 5 = 82.5 %; half the sets: 4 are 2, 3 are 1.5, which rounds to 2.
    operations = [
        {"kind": "shift_percent", "percent_points": -5, "which": {"weeks": [4], "lift": "squat"}},
        {"kind": "scale_sets", "percent": 50, "which": {"weeks": [4]}},
    ]
    path = f"/v1/templates/{club.template}/changes?on=2026-04-30"
    made = read(club.coach.post(path, json={"operations": operations}, headers={"If-Match": '"1"'}), 201)
    becomes = "Week 4, {}: {} sets of {} % of the tested max becomes {} sets of {} % of the tested max."
    told = [
        becomes.format("Light, bench press", 3, "5 at 60", 2, "5 at 60"),
        becomes.format("Squat, squat", 4, "3 at 87.5", 2, "3 at 82.5"),
        becomes.format("Pull, deadlift", 3, "3 at 87.5", 2, "3 at 87.5"),
    ]
    assert [one["text"] for one in made["difference"]["changes"]] == told
    assert [(one["athlete_name"], one["week"]) for one in made["running"]] == [(name, 2) for name in LIFTERS]
    # The running blocks do not change by that; they follow when they are moved. Hedda still has 87.5 % of 120, 105,
    # four times: n = 4.42, 1.42 left, 0.786 % for each set. After two of them 105 is 88.9 %, n = 3.95: RPE 9.05, where
    # following sets end at 9, so that the last two are a step lighter.
    looked = read(club.coach.get(f"/v1/blocks/{club.blocks['Hedda Lind']}/preview?on=2026-04-30"))
    (squats,) = (one for one in looked["sessions"] if one["date"] == WEEKS[3][1])
    assert [(one["sets"], one["load"]["kg"]) for one in squats["slots"][0]["work"]] == [
        (2, 105), (2, 102.5),
    ]  # fmt: skip
    order = {"template": club.template, "group": club.group, "from_week": 4}
    moved = read(club.coach.post("/v1/version-moves?on=2026-04-30", json=order), 201)
    assert [one["athlete_name"] for one in moved["items"]] == list(LIFTERS)
    for one in moved["items"]:
        assert [(each["date"], each["what"], *each["changes"]) for each in one["changed"]] == [
            (on, "changed", text) for on, text in zip(WEEKS[3], told, strict=True)
        ]


def ines_trains_by_the_harbour(club: Club) -> None:
    # A pipe bursts: the hall is closed from 1 to 7 May. Ines finds room in the cellar, where 92.4 is 90, and 115.5 115.
    text = "A pipe has burst: closed until Friday the 8th. Ines trains by the harbour."
    read(club.coach.put(f"/v1/groups/{club.group}/notes/2026-05-01", json={"text": text}), 201)
    for one in club.sessions("Ines Tveit"):
        if one["date"] in WEEKS[1]:
            tag = {"If-Match": f'"{one["version"]}"'}
            read(club.coach.patch(f"/v1/sessions/{one['id']}", json={"place": club.cellar}, headers=tag))
    page = club.page("2026-05-04")
    assert [(one["place"]["name"], [line["name"] for line in one["sessions"]]) for one in page["places"]] == [
        ("Lime hall", ["Hedda Lind", "Joren Falk", "Mats Orre"]), ("Harbour cellar", ["Ines Tveit"]),
    ]  # fmt: skip
    friday, monday, wednesday = WEEKS[1]
    club.train(friday, 5, 3, Ines=40)
    assert per_side(only(club.day("Ines Tveit", monday).slots[0], "target_set")) == "20 10 5"  # (90 - 20) / 2 = 35
    club.train(monday, 3, 4, Ines=90)
    club.train(wednesday, 3, 3, Ines=115)


def the_missed_week_is_merged(club: Club) -> None:
    path = f"/v1/groups/{club.group}/replans?on=2026-05-07"
    # Shifted by three sessions the block would end a week after Wednesday 20, four days past the meet.
    shifted = read(club.coach.post(f"{path}&dry_run=true", json={"kind": "shift"}))
    assert len(shifted["items"]) == 3
    for one in shifted["items"]:
        assert one["replan"]["effect"]["ends_on"] == "2026-05-27"
        assert one["replan"]["cautions"] == [
            "The block was laid out towards 23 May 2026: it would end 4 days after that."
        ]
    # So half of what was missed goes into the next sessions, each where its lift is not yet: of 3 sets 2, of 4 2. To
    # come, in weeks 2, 3 and 4: bench 3 + 3 + 2, squats 4 + 4 + 2, deadlifts 3 + 3 + 2. Ines has missed nothing.
    merged = read(club.coach.post(path, json={"kind": "merge"}), 201)
    assert [one["name"] for one in merged["items"]] == ["Hedda Lind", "Joren Falk", "Mats Orre"]
    for one in merged["items"]:
        effect = one["replan"]["effect"]
        assert (effect["left_out"], effect["moved"], effect["ends_on"]) == (3, 0, WEEKS[3][2])
        assert {each["lift"]: (each["before"], each["after"]) for each in effect["lifts"]} == {
            "bench-press": (8, 7), "squat": (10, 8), "deadlift": (8, 7),
        }  # fmt: skip
    assert [one["state"] for one in club.sessions("Mats Orre")] == ["finished"] * 3 + ["skipped"] * 3 + ["planned"] * 6
    assert [one["state"] for one in club.sessions("Ines Tveit")] == ["finished"] * 6 + ["planned"] * 6
    # Each of the next three days has taken over one lift.
    for name in ("Hedda Lind", "Joren Falk", "Mats Orre"):
        second = [slot for on in WEEKS[2] for slot in club.day(name, on).slots[1:]]
        assert {slot["lift"]: slot["note"] for slot in second} == {
            "bench-press": "Taken over from Light",
            "squat": "Taken over from Squat",
            "deadlift": "Taken over from Pull",
        }


def nothing_heavy_on_the_new_floor(club: Club) -> None:
    friday, monday, wednesday = WEEKS[2]
    taken = club.second_line("Hedda Lind", friday)
    club.train(friday, 5, 3, Hedda=42.5, Mats=65, Joren=35, Ines=40)
    # On Monday and Tuesday at most 75 %: 90, 120 and 75, and of 84 what hangs under it. The plan's 85 % stays visible.
    cap = {"kind": "cap", "lift": "squat", "percent": 75, "from": "2026-05-11", "until": "2026-05-12"}
    post(club.coach, f"/groups/{club.group}/overrides", {**cap, "reason": "The new floor has to settle"})
    for name, planned in (("Hedda Lind", 102.5), ("Mats Orre", 135), ("Joren Falk", 85), ("Ines Tveit", 95)):
        held = only(club.day(name, monday).slots[0], "target_set")
        assert held["without_override"]["kg"] == planned
        (obeyed,) = held["overrides"]
        assert obeyed["text"] == (
            "No more than 75 % of the max in the squat, until 12 May 2026 (decided by coach key for Lime lifters: The "
            "new floor has to settle)."
        )
    # One bar carries 75 and 82.5, the other 90 and 120: 35 a side is 20 10 5, 50 a side 20 20 10.
    page = club.page(monday)
    assert page["last_note"]["text"].startswith("A pipe has burst")
    (wave,) = page["places"][0]["rounds"][0]["shared"]["waves"]
    assert [bar["names"] for bar in wave["bars"]] == [["Joren Falk", "Ines Tveit"], ["Hedda Lind", "Mats Orre"]]
    texts = {turn["name"]: turn["text"] for turn in wave["bars"][1]["turns"][:-1] if turn["role"] == "target_set"}
    assert texts == {
        "Hedda Lind": "Each side: take off 10 20; then put on 10 5.",
        "Mats Orre": "Each side: take off 5 10; then put on 20 10.",
    }
    for bar in wave["bars"]:
        assert bar["plates_handled"] == hung_by_hand(bar["turns"])
    taken |= club.second_line("Hedda Lind", monday)
    club.train(monday, 3, 4, Hedda=90, Mats=120, Joren=75, Ines=82.5)
    taken |= club.second_line("Hedda Lind", wednesday)
    assert taken == {"bench-press": ["42.5 kg x 5"] * 2, "squat": ["100 kg x 3"] * 2, "deadlift": ["125 kg x 3"] * 2}
    club.train(wednesday, 3, 3, Hedda=130, Mats=170, Joren=102.5, Ines=120)


def the_last_week_is_as_it_was_changed(club: Club) -> None:
    friday, monday, wednesday = WEEKS[3]
    club.train(friday, 5, 2, Hedda=42.5, Mats=65, Joren=35, Ines=40)
    club.train(monday, 3, 2, Hedda=100, Mats=132.5, Joren=82.5, Ines=92.5)
    # Joren is sixteen at most, and nothing harder than RPE 8.5 is for him before a coach has said so. At 87.5 % n is
    # 1 + (0.875^-2.5 - 1) / 0.116 = 4.42 repetitions, three of them RPE 8.6. RPE 8.5 is n = 4.5: 1.406^-0.4 = 87.26 %,
    # 104.7, under which 102.5 hangs.
    held = only(club.day("Joren Falk", wednesday).slots[0], "target_set")
    assert (held["load"]["kg"], held["without_override"]["kg"], codes(held)) == (102.5, 105, ["needs_approval"])
    club.train(wednesday, 3, 2, Hedda=132.5, Mats=175, Joren=102.5, Ines=122.5)


def the_youngest_is_tested(club: Club, phone: TestClient) -> None:
    # On the day of the meet Joren tests his squat in the hall. By the protocol for 100: the first attempt at 92, 90
    # hangs under it; steps of 20 % lead to it, 90 / 1.44 = 62.5 and 90 / 1.2 = 75. Attempts wait for a coach.
    joren = club.ids["Joren Falk"]
    post(club.coach, f"/athletes/{joren}/sessions", {"kind": "test", "date": MEET, "lifts": ["squat"]})
    test = day(phone, joren, MEET, offset="+02:00")
    squat = test.open()["slots"][0]
    assert plan(squat) == ["62.5 kg x 3 to 5", "75 kg x 2 to 3"]
    assert codes(squat) == ["needs_approval", "test_day", "minor"]
    test.warm_up("squat")
    test.log("squat", kg(62.5), 3, role="build_up")
    waits = test.log("squat", kg(75), 2, role="build_up")["next"]
    assert (waits["kind"], waits["text"].split(":")[0]) == (
        "session_done", "The attempts wait until a coach of this gym has approved them",
    )  # fmt: skip
    approval = {"kind": "approval", "lift": "squat", "from": MEET, "until": MEET, "reason": "Steady in every set"}
    assert phone.post(f"/v1/athletes/{joren}/overrides", json=approval).status_code == 403
    post(club.coach, f"/athletes/{joren}/overrides", approval)
    coming = test.next("squat")
    assert (coming["role"], said(coming), codes(coming)[0]) == ("top_set", "90 kg x 1", "test_day")
    # Half way from 90 to what is expected: 95. Nobody says how hard it was, so what is expected falls only by fatigue:
    # n is 3.60 at 90 %, 2.60 left: 0.46 % off 100 is 99.55; 95 of it is n = 2.07, 1.07 left, 0.92 %: 98.6.
    coming = attempt(test, 90)
    assert said(coming) == "95 kg x 1"
    coming = attempt(test, 95)
    assert [one["value"] for one in coming["why"][0]["inputs"] if one["name"] == "expected"] == [
        pytest.approx(98.63, abs=0.01)
    ]
    assert said(coming) == "97.5 kg x 1"
    # The coach gives him 100, which is missed. 5 to 10 % less would lead to what he has made already, so what is
    # between counts: 97.5. It goes up, and nothing lies between it and 100.
    coming = attempt(test, 100, made=False)
    assert said(coming) == "97.5 kg x 1"
    assert coming["text"].startswith("Attempt 4: 1 with 97.5 kg. 100 kg was missed")
    over = attempt(test, 97.5)
    assert "The heaviest made is 97.5 kg: it is kept as the tested max of the squat." in over["text"]
    test.finish()
    newest = read(club.coach.get(f"/v1/athletes/{joren}/maxes"))["items"][0]
    assert (newest["lift"], newest["kind"], newest["load"]["kg"], newest["date"]) == ("squat", "tested", 97.5, MEET)
    assert (newest["support"], newest["session"]) == (["belt"], test.id)
    # Percentages stand on it from now on: 80 % of 97.5 are 78.
    asked = session("", "squat", 1, 3, 80)["slots"][0] | {"athlete": joren, "on": "2026-05-25"}
    found = read(club.coach.post("/v1/prescriptions", json=asked))
    assert plan(found) == ["77.5 kg x 3"]


def attempt(test: Day, load: float, *, made: bool = True) -> Json:
    """An attempt with a belt, without a word of how hard it was; what comes next."""
    how: Json = {"role": "top_set", "support": ["belt"]}
    how |= {} if made else {"made": False, "ended_by": "strength"}
    found: Json = test.log("squat", kg(load), 1 if made else 0, **how)["next"]
    return found
