"""The interface for programs: its description, for programs and for people."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache
from typing import Annotated, Any, ClassVar

from fastapi import APIRouter, Depends, Request, Response
from fastapi.responses import JSONResponse
from fastapi.routing import APIRoute

from galleyproof import __version__
from galleyproof.store.people import Right, Who
from galleyproof.web.access import Needs, ProgramNeeds
from galleyproof.web.page import Page, show
from galleyproof.web.problems import ProblemOut
from galleyproof.web.program import API

routes = APIRouter()

ORDER = ("jobs", "results", "check-out")
"""Groups of operations as they are listed."""
ABOUT = """Jobs, packages and readings, for programs: an order system, a build that checks every job.

Send the token of an account as `Authorization: Bearer gp_...`; people make theirs on the page of their account. On a
computer without accounts no token is needed. What takes long to compute answers 202 until it is there. Errors are
problem details (RFC 9457)."""


@dataclass(frozen=True, slots=True)
class Operation:
    """An operation as the page lists it."""

    method: str
    path: str
    summary: str
    words: str
    parameters: tuple[tuple[str, str], ...]


@dataclass(frozen=True, kw_only=True)
class InterfacePage(Page):
    """Every operation."""

    template: ClassVar[str] = "interface.html"
    operations: tuple[Operation, ...]
    address: str
    with_tokens: bool


@routes.get(f"{API}/openapi.json")
def description(_who: Annotated[Who | None, Depends(ProgramNeeds(None))]) -> JSONResponse:
    """The description as OpenAPI 3.1."""
    return JSONResponse(openapi())


@routes.get("/api")
def interface(request: Request, who: Annotated[Who, Depends(Needs(Right.SITE))]) -> Response:
    """The description for people."""
    made = []
    for path, item in openapi()["paths"].items():
        for method, one in item.items():
            named = [(p["name"], p.get("description", "")) for p in one.get("parameters", ()) if p["in"] != "path"]
            words = one.get("description", "")
            made.append(Operation(method.upper(), path, one["summary"], words, tuple(named)))
    page = InterfacePage(
        title="Interface for programs",
        operations=tuple(made),
        address=f"{request.base_url}{API[1:]}",
        with_tokens=who.person_id is not None,
    )
    return show(request, page)


@cache
def openapi() -> dict[str, Any]:
    """The description, made from the routes themselves."""
    from fastapi.openapi.utils import get_openapi

    from galleyproof.web.app import ROUTERS

    ours = [r for router in ROUTERS for r in router.routes if isinstance(r, APIRoute) and r.path.startswith(API)]
    described = [r for r in ours if r.path != f"{API}/openapi.json"]
    described.sort(key=lambda r: ORDER.index(str(r.tags[0])))
    made = get_openapi(title="Galleyproof", version=__version__, description=ABOUT, routes=described)
    parts = made["components"]
    parts["schemas"] |= _parts(ProblemOut)
    parts["securitySchemes"] = {
        "token": {"type": "http", "scheme": "bearer", "description": "The token of an account."}
    }
    for item in made["paths"].values():
        for method, operation in item.items():
            operation["security"] = [{"token": []}]
            answers = operation["responses"]
            if method == "get":
                answers.pop("413", None)
            # what FastAPI adds for bodies it cannot take, which here is a problem like all others
            if "422" in answers:
                answers["422"]["content"] = {
                    "application/problem+json": {"schema": {"$ref": "#/components/schemas/ProblemOut"}}
                }
    for left in ("HTTPValidationError", "ValidationError"):
        parts["schemas"].pop(left, None)
    return made


def _parts(model: type[ProblemOut]) -> dict[str, Any]:
    schema = model.model_json_schema(ref_template="#/components/schemas/{model}")
    return {**schema.pop("$defs", {}), model.__name__: schema}
