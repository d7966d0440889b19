"""/v1/curves: names, ranges, sources."""

from __future__ import annotations

from starlette.testclient import TestClient

PUBLISHED = {
    "epley", "brzycki", "lander", "lombardi", "mayhew", "oconner", "wathen", "kemmler", "adams", "reynolds",
    "textbook_table",
}  # fmt: skip


def test_all_curves_stand_on_one_page_with_source_and_range(coach: TestClient) -> None:
    answer = coach.get("/v1/curves")
    curves = {curve["name"]: curve for curve in answer.json()["items"]}
    assert set(curves) == PUBLISHED | {"default"}
    assert answer.json()["next_page"] is None
    for curve in curves.values():
        assert curve["source"]
        assert curve["fewest"] <= curve["published_fewest"] < curve["published_most"] <= curve["most"]


def test_a_curve_says_whether_it_misses_one_hundred_per_cent_at_one(coach: TestClient) -> None:
    curves = {curve["name"]: curve for curve in coach.get("/v1/curves").json()["items"]}
    # Brzycki 36 / (37 - 1) = 1 and Lombardi 1 ^ 0.1 = 1; Epley 1 + 1 / 30 and Mayhew 52.2 + 41.9 e^-0.055 do not
    assert {name: curves[name]["jumps_at_one"] for name in ("brzycki", "lombardi", "epley", "mayhew")} == {
        "brzycki": False,
        "lombardi": False,
        "epley": True,
        "mayhew": True,
    }


def test_curves_may_be_kept_for_an_hour_and_are_asked_for_again_cheaply(coach: TestClient) -> None:
    first = coach.get("/v1/curves")
    assert first.headers["cache-control"] == "private, max-age=3600"
    again = coach.get("/v1/curves", headers={"If-None-Match": first.headers["etag"]})
    assert (again.status_code, again.content) == (304, b"")
