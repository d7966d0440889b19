"""The database is restarted under the service: the next call makes a new connection, and nothing is stored twice."""

from __future__ import annotations

from concurrent.futures import ThreadPoolExecutor

from sqlalchemy import create_engine, text
from starlette.testclient import TestClient

CUT_OFF = text(
    "SELECT count(pg_terminate_backend(pid)) FROM pg_stat_activity"
    " WHERE usename = 'loadwright_service' AND datname = current_database() AND pid <> pg_backend_pid()"
)


def test_a_call_after_all_connections_were_cut_succeeds(coach: TestClient, server) -> None:
    assert coach.post("/v1/athletes", json={"name": "Before"}).status_code == 201
    with ThreadPoolExecutor(8) as crowd:  # so that the pool holds several connections
        seen = list(crowd.map(lambda _: coach.get("/v1/athletes").status_code, range(40)))
    assert set(seen) == {200}
    # only a role itself, or a superuser, may end its connections
    own = create_engine(server.service_url)
    with own.begin() as connection:
        assert connection.execute(CUT_OFF).scalar_one() >= 1
    own.dispose()
    answer = coach.post("/v1/athletes", json={"name": "After"}, headers={"Idempotency-Key": "after-the-cut"})
    assert answer.status_code == 201, answer.text
    assert [one["name"] for one in coach.get("/v1/athletes").json()["items"]] == ["After", "Before"]
