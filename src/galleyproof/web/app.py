"""The app, put together."""

from __future__ import annotations

from collections.abc import AsyncIterator, Awaitable, Callable
from contextlib import asynccontextmanager
from importlib import import_module
from pkgutil import iter_modules
from urllib.parse import quote, urlsplit

from fastapi import APIRouter, FastAPI, Request, Response
from fastapi.exceptions import RequestValidationError
from fastapi.responses import PlainTextResponse, RedirectResponse
from fastapi.routing import APIRoute
from starlette.exceptions import HTTPException
from starlette.middleware.sessions import SessionMiddleware
from starlette.middleware.trustedhost import TrustedHostMiddleware
from starlette.staticfiles import StaticFiles

from galleyproof import __version__
from galleyproof.errors import GalleyproofError, InputError
from galleyproof.store.database import Database
from galleyproof.store.errors import ConflictError, NotFoundError, RefusedError, UnavailableError
from galleyproof.store.sign_ins import LINK_SIGN_IN
from galleyproof.web import pages as page_modules
from galleyproof.web.access import Forbidden, Stranger
from galleyproof.web.limits import Bounded
from galleyproof.web.office import Office, signing_key
from galleyproof.web.page import STATIC
from galleyproof.web.pages.message import message
from galleyproof.web.problems import problem, problem_line
from galleyproof.web.settings import LOOPBACK, Settings
from galleyproof.web.work import Calculator

__all__ = ["ROUTERS", "make_app"]

POLICY = (
    "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self' data: blob:; font-src 'self'; "
    "connect-src 'self'; form-action 'self'; base-uri 'none'; frame-ancestors 'none'; manifest-src 'self'; "
    "worker-src 'self'"
)
API = "/api/"


def _routers() -> tuple[APIRouter, ...]:
    """The routes of every module of pages."""
    modules = (import_module(f"{page_modules.__name__}.{m.name}") for m in iter_modules(page_modules.__path__))
    return tuple(m.routes for m in modules if hasattr(m, "routes"))


ROUTERS = _routers()
"""Routes of all pages."""


def make_app(settings: Settings, db: Database) -> FastAPI:
    """The app over a database whose schema is up to date."""
    office = Office(settings, db, Calculator(processes=settings.workers), signing_key(db))

    @asynccontextmanager
    async def life(_app: FastAPI) -> AsyncIterator[None]:
        yield
        office.work.close()
        office.desk.close()
        db.close()

    app = FastAPI(
        title="Galleyproof", version=__version__, lifespan=life, docs_url=None, redoc_url=None, openapi_url=None
    )
    app.state.office = office
    for router in ROUTERS:
        app.include_router(router)
    app.mount("/static", StaticFiles(directory=STATIC), name="static")
    app.mount("/typeface", StaticFiles(packages=[("galleyproof.drawing", "typeface")]), name="typeface")
    _handle_errors(app)
    app.add_middleware(Bounded)
    app.middleware("http")(_say_the_policy)
    app.add_middleware(
        SessionMiddleware,
        secret_key=office.key,
        session_cookie="galleyproof",
        max_age=int(LINK_SIGN_IN.total_seconds()),
        same_site="lax",
        https_only=settings.secure,
    )
    app.add_middleware(TrustedHostMiddleware, allowed_hosts=[*LOOPBACK, "[::1]", settings.host, *settings.hosts])
    return app


async def _say_the_policy(request: Request, go_on: Callable[[Request], Awaitable[Response]]) -> Response:
    return _with_policy(await go_on(request), kept=request.url.path.startswith(("/static/", "/typeface/")))


def _with_policy(response: Response, *, kept: bool = False) -> Response:
    response.headers.setdefault("content-security-policy", POLICY)
    response.headers.setdefault("x-content-type-options", "nosniff")
    response.headers.setdefault("referrer-policy", "same-origin")
    response.headers.setdefault("cross-origin-opener-policy", "same-origin")
    if not kept:
        response.headers.setdefault("cache-control", "no-store")
    return response


def _methods_of(path: str) -> list[str]:
    """Every method an address knows (RFC 9110, section 10.2.1)."""
    ours = (r for router in ROUTERS for r in router.routes if isinstance(r, APIRoute))
    return sorted({m for r in ours if r.path_regex.match(path) for m in r.methods or ()})


def _handle_errors(app: FastAPI) -> None:
    """No error reaches a person as anything but words."""

    def answer(request: Request, status: int, title: str, words: str, **more: object) -> Response:
        if request.url.path.startswith(API):
            return problem(status, title, words, **more)
        return message(request, status, title, words)

    @app.exception_handler(Stranger)
    def _stranger(request: Request, _error: Exception) -> Response:
        if request.url.path.startswith(API):
            return problem(401, "Unknown", "send a token of yours: Authorization: Bearer ...")
        # a part of a page is asked for by a page: that is where to go on
        asked = urlsplit(request.headers.get("hx-current-url", "")) if "hx-request" in request.headers else request.url
        there = asked.path + (f"?{asked.query}" if asked.query else "")
        to = f"/sign-in?then={quote(there)}" if request.method == "GET" or asked is not request.url else "/sign-in"
        if "hx-request" in request.headers:
            return Response(status_code=401, headers={"hx-redirect": to})
        return RedirectResponse(to, 303)

    @app.exception_handler(Forbidden)
    def _forbidden(request: Request, error: Exception) -> Response:
        return answer(request, 403, "Not for you", str(error))

    @app.exception_handler(HTTPException)
    def _http(request: Request, error: Exception) -> Response:
        assert isinstance(error, HTTPException)
        if error.status_code == 404:
            return answer(request, 404, "No such page", "there is nothing at this address; go on from the list of jobs")
        made = answer(request, error.status_code, "This did not work", str(error.detail))
        made.headers.update(error.headers or {})
        if error.status_code == 405:
            made.headers["allow"] = ", ".join(_methods_of(request.url.path))
        return made

    @app.exception_handler(RequestValidationError)
    def _malformed(request: Request, error: Exception) -> Response:
        assert isinstance(error, RequestValidationError)
        words = "; ".join(f"{'.'.join(map(str, e['loc'][1:]))}: {e['msg']}" for e in error.errors()[:20])
        return answer(request, 422, "This cannot be read", words)

    @app.exception_handler(GalleyproofError)
    def _ours(request: Request, error: Exception) -> Response:
        status, title = 400, "This did not work"
        more: dict[str, object] = {}
        if isinstance(error, NotFoundError):
            status, title = 404, "Not here"
        elif isinstance(error, ConflictError):
            status, title = 409, "Somebody else saved first"
            more = {"standing_text": error.theirs, "standing_save": error.number, "saved_by": error.by}
        elif isinstance(error, RefusedError):
            status, title = 400, "This is refused"
        elif isinstance(error, UnavailableError):
            status, title = 503, "Nothing was stored"
        if isinstance(error, InputError):
            status, title = 422, "This cannot be taken"
            more = {"problems": [problem_line(p) for p in error.problems]}
        return answer(request, status, title, str(error), **more)

    @app.exception_handler(Exception)
    def _unforeseen(request: Request, _error: Exception) -> Response:
        words = "this should not happen: nothing was stored; the error output of galleyproof serve tells more"
        return _with_policy(
            problem(500, "An error of this program", words)
            if request.url.path.startswith(API)
            else PlainTextResponse(words, 500)
        )
