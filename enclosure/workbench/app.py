"""Which addresses does the page have, and what does each do?

    /TOKEN/                    where to begin: shipped briefs, own files, open desks
    /TOKEN/desk/KEY/           the page of one brief; everything below works on that desk
    /TOKEN/static/, /stage/    scripts and styles, by exact name

All work on a brief is done in threads, so that the event loop stays free. Names that
come from the browser are looked up in tables and never become paths.
"""

from __future__ import annotations

import mimetypes
from collections.abc import AsyncIterator, Callable, Mapping
from contextlib import asynccontextmanager
from dataclasses import dataclass
from pathlib import Path
from urllib.parse import parse_qsl

from starlette.applications import Starlette
from starlette.concurrency import run_in_threadpool
from starlette.middleware import Middleware
from starlette.requests import ClientDisconnect, Request
from starlette.responses import HTMLResponse, PlainTextResponse, RedirectResponse, Response
from starlette.routing import Route

from enclosure.errors import EnclosureError
from enclosure.outputs.page import page_files
from enclosure.workbench.desk import Bench, Desk
from enclosure.workbench.guard import Guard, TooMuchError
from enclosure.workbench.rooms import Rooms

HERE = Path(__file__).parent
MOST_FORM_FIELDS = 200
Work = Callable[[Desk, Mapping[str, str]], Response]


@dataclass(frozen=True, slots=True)
class Settings:
    """How the page is served.

    Args:
        token: Random word that begins every path.
        hosts: Host headers that are answered.
        brief: Brief to open at once, None to begin with the choice.
        helpers: False starts no second process (tests).
    """

    token: str
    hosts: tuple[str, ...]
    brief: Path | None = None
    helpers: bool = True


def _static_files() -> dict[str, tuple[bytes, str]]:
    found = {}
    for path in sorted((HERE / "static").rglob("*")):
        if path.is_file():
            kind = mimetypes.guess_type(path.name)[0] or "text/plain"
            found[f"static/{path.relative_to(HERE / 'static').as_posix()}"] = (path.read_bytes(), kind)
    for name, data in page_files().items():
        found[f"stage/{name}"] = (data, mimetypes.guess_type(name)[0] or "text/plain")
    return found


def create_app(settings: Settings) -> Starlette:
    """Return the application, ready to be served."""
    bench, root = Bench(), f"/{settings.token}"
    rooms = Rooms(bench, root, helpers=settings.helpers)
    first = bench.from_file(settings.brief) if settings.brief is not None else None
    static = _static_files()

    async def start(request: Request) -> Response:
        if first is not None and "all" not in request.query_params:
            return RedirectResponse(f"{root}/desk/{first.key}/", 303)
        return await run_in_threadpool(rooms.start)

    async def begin(request: Request) -> Response:
        form = await _form(request)

        def work() -> Response:
            try:
                if request.url.path.endswith("/open"):
                    desk = bench.from_text(form.get("text", ""), form.get("name", "")[:80] or "a file")
                else:
                    desk = bench.from_template(form.get("template", ""))
            except EnclosureError as error:
                return rooms.start(f"{error.message}; {error.hint}" if error.hint else error.message)
            return RedirectResponse(f"{root}/desk/{desk.key}/", 303)

        return await run_in_threadpool(work)

    async def file(request: Request) -> Response:
        name = request.url.path.removeprefix(f"{root}/")
        if name not in static:
            return _nothing()
        data, kind = static[name]
        return Response(data, media_type=kind, headers={"cache-control": "no-cache"})

    @asynccontextmanager
    async def lifespan(_: Starlette) -> AsyncIterator[None]:
        rooms.open()
        try:
            yield
        finally:
            await run_in_threadpool(rooms.close)

    routes = [
        Route("/", start), Route("/begin", begin, methods=["POST"]), Route("/open", begin, methods=["POST"]),
        Route("/static/{rest:path}", file), Route("/stage/{rest:path}", file),
        *_desk_routes(rooms, bench),
    ]  # fmt: skip
    app = Starlette(
        routes=[Route(f"{root}{route.path}", route.endpoint, methods=list(route.methods or ())) for route in routes],
        lifespan=lifespan,
        exception_handlers={404: _lost, TooMuchError: _too_much, ClientDisconnect: _gone},
        middleware=[Middleware(Guard, token=settings.token, hosts=settings.hosts)],
    )
    app.state.rooms, app.state.bench = rooms, bench
    return app


def _desk_routes(rooms: Rooms, bench: Bench) -> list[Route]:
    def at(path: str, work: Work, method: str = "GET") -> Route:
        async def endpoint(request: Request) -> Response:
            desk = bench.get(request.path_params["desk"])
            if desk is None:
                return _nothing()
            said = await _form(request) if method == "POST" else dict(request.query_params)
            asked = {**said, **{k: str(v) for k, v in request.path_params.items() if k != "desk"}}
            return await run_in_threadpool(work, desk, asked)

        return Route(f"/desk/{{desk}}/{path}", endpoint, methods=[method])

    return [
        at("", rooms.page), at("edit", rooms.edit, "POST"), at("undo", rooms.undo, "POST"),
        at("redo", rooms.redo, "POST"), at("save", rooms.save, "POST"), at("view", rooms.view, "POST"),
        at("now", rooms.now), at("second", rooms.second), at("third", rooms.third), at("why/{key}", rooms.why),
        at("brief.toml", rooms.brief), at("picture.svg", rooms.picture), at("cut/{number}.svg", rooms.cut_picture),
        at("papers/make", rooms.papers_make, "POST"), at("papers/cancel", rooms.papers_cancel, "POST"),
        at("papers/state", rooms.papers_state), at("papers/{name:path}", rooms.papers_file),
        at("pin", rooms.pin, "POST"), at("compare", rooms.compare), at("study/{kind}", rooms.study),
        at("study/{kind}/cancel", rooms.study_cancel, "POST"),
        at("shelter.html", rooms.shared),
    ]  # fmt: skip


async def _form(request: Request) -> dict[str, str]:
    body = (await request.body()).decode("utf-8", "replace")
    return dict(parse_qsl(body, keep_blank_values=True, max_num_fields=MOST_FORM_FIELDS))


def _nothing() -> Response:
    return PlainTextResponse("there is nothing here; go back to the address that enclosure serve printed\n", 404)


async def _lost(request: Request, error: Exception) -> Response:
    return _nothing()


async def _too_much(request: Request, error: Exception) -> Response:
    return PlainTextResponse("too much at once\n", 413)


async def _gone(request: Request, error: Exception) -> Response:
    return HTMLResponse("", 499)
