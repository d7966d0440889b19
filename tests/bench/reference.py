"""The floor that the service is measured against: bare Starlette, and async psycopg with the same SQL.

Started by `run.py` as `python reference.py PORT FILE`: the file holds what the service answered and, for stored
endpoints, the statements that it sent.
"""

from __future__ import annotations

import asyncio
import json
import pickle
import secrets
import sys
import uuid
from contextlib import asynccontextmanager
from pathlib import Path

import uvicorn
from psycopg import AsyncConnection
from starlette.applications import Starlette
from starlette.requests import Request
from starlette.responses import JSONResponse, Response
from starlette.routing import Route


def calculation(answer: dict):
    """A route that parses and answers the same JSON, without calculating."""

    async def route(request: Request) -> JSONResponse:
        json.loads(await request.body())
        return JSONResponse(answer)

    return route


def stored(one: dict, pool: asyncio.Queue):
    """A route that sends the same statements in one transaction and answers the same bytes.

    The ids of the recorded request are exchanged for those of another of the prepared sessions, and what the request
    made (`fresh`) gets a new id each time.
    """

    async def route(request: Request) -> Response:
        if request.method == "POST":
            json.loads(await request.body())
        ids = {**secrets.choice(one["worlds"]), **{value: uuid.uuid4() for value in one["fresh"]}}
        connection = await pool.get()
        try:
            async with connection.transaction():
                for sql, parameters in one["statements"]:
                    values = {k: ids.get(v, v) if isinstance(v, str | uuid.UUID) else v for k, v in parameters.items()}
                    cursor = await connection.execute(sql, values)
                    if cursor.description is not None:
                        await cursor.fetchall()
        finally:
            pool.put_nowait(connection)
        return Response(one["answer"], one["status"], media_type="application/json")

    return route


def main() -> None:
    """Serve the floor."""
    port, file = int(sys.argv[1]), Path(sys.argv[2])
    told = pickle.loads(file.read_bytes())
    pool: asyncio.Queue = asyncio.Queue()

    @asynccontextmanager
    async def lifespan(_: Starlette):
        for _ in range(told["pool"]):
            pool.put_nowait(await AsyncConnection.connect(told["database"], autocommit=True))
        yield
        while not pool.empty():
            await pool.get_nowait().close()

    routes = [Route(path, calculation(answer), methods=["POST"]) for path, answer in told["calculations"].items()]
    routes += [Route(one["path"], stored(one, pool), methods=[one["method"]]) for one in told["stored"]]
    uvicorn.run(
        Starlette(routes=routes, lifespan=lifespan), host="127.0.0.1", port=port, log_level="error", access_log=False
    )


if __name__ == "__main__":
    main()
