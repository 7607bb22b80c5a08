"""What this installation offers: everything that can be named in a request."""

from typing import Any

from fastapi import APIRouter, Request

from api.desk import AtDesk
from api.request_checks import LISTED_AS
from api.web_links import link

router = APIRouter(tags=["what is offered"])


@router.get("/capabilities", summary="Everything that can be named in a request")
def capabilities(desk: AtDesk) -> dict[str, Any]:
    """Return all listings, and the plug-ins that were set aside with the reason."""
    return dict(desk.capabilities)


def _add_listing(name: str) -> None:
    @router.get(f"/{name}", summary=f"The {name} offered", name=f"list_{name}")
    def listing(request: Request, desk: AtDesk) -> dict[str, Any]:
        rows = list(desk.capabilities.get(name, ()))
        return {name: rows, "links": [link(request, f"/{name}", "self", f"the {name} offered").model_dump()]}


for _name in LISTED_AS.values():
    _add_listing(_name)
