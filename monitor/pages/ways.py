"""Which of the pages a device may open, for the crew page to show the ways to them and to no other."""

from collections.abc import Callable

from fastapi import APIRouter, Request
from pydantic import BaseModel

from monitor.pages.roles import may, rule_of

PAGES = ("chemical", "plan", "books", "sites", "history", "alarms", "practice", "owner", "bench")


class Ways(BaseModel):
    """Names of pages, each at the address of its name."""

    pages: list[str]


def way_routes(has_bench: Callable[[], bool]) -> APIRouter:
    """The bench is there only on a simulated day."""
    router = APIRouter()

    @router.get("/api/ways")
    async def ways(request: Request) -> Ways:
        """The pages that this device may open."""
        role = request.scope.get("role", "owner")
        allowed = [page for page in PAGES if may(role, rule_of("GET", f"/{page}"))]
        return Ways(pages=[page for page in allowed if page != "bench" or has_bench()])

    return router
