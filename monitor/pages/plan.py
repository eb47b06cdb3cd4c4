"""The plan page: will the water last, asked again with every touch."""

import asyncio
from collections.abc import Callable
from typing import Annotated, Any, Protocol

import msgspec
from fastapi import APIRouter, Query
from fastapi.responses import JSONResponse, Response

from monitor.core.basis import Basis
from monitor.planning import hoses
from monitor.planning.day import KINDS, QUANTILES, Plan
from monitor.planning.tap_words import FORMS, read_tap
from monitor.quantities import BadQuantity
from monitor.rig.day_asked import Asked, planned, resumes_l, road, used, water_l
from monitor.rig.model import Pump, Rig

UNHEARD = "no tap has been seen here yet"


class PlansDesk(Protocol):
    """What the plan page asks of the daemon."""

    rig: Rig

    def basis(self) -> Basis: ...


def plan_routes(page: Callable[[str], Response], desk: PlansDesk) -> APIRouter:
    """`page` answers with a file of the dashboards."""
    router = APIRouter()
    encode: Callable[[Any], bytes] = msgspec.json.Encoder().encode
    turn = asyncio.Lock()
    """Plans are reckoned one after the other: each takes the processor from the deciding loop, a dozen all of it."""

    @router.get("/plan", include_in_schema=False)
    def index() -> Response:
        return page("plan/index.html")

    @router.get("/chemical", include_in_schema=False)
    def chemical() -> Response:
        return page("chemical/index.html")

    @router.get("/api/plan")
    async def plan(
        tap: Annotated[str, Query(max_length=100)] = "",
        water: Annotated[float | None, Query(ge=0, le=100_000, allow_inf_nan=False)] = None,
        hours: Annotated[float, Query(ge=0.1, le=16)] = 4.0,
        work: Annotated[str, Query(max_length=20)] = "mixed",
        pump: Annotated[list[str] | None, Query(max_length=20)] = None,
        site: Annotated[str, Query(max_length=400)] = "",
    ) -> Response:
        """A day's water as a distribution. `tap`: a line such as "5 gpm"; empty: the tap as seen, here or at `site`."""
        rig, known = desk.rig, desk.basis()
        try:
            asked = _asked(known, tap, water, 3600.0 * hours, work, pump, site)
            async with turn:
                said = await asyncio.to_thread(planned, rig, asked)
        except (BadQuantity, ValueError) as error:
            return JSONResponse({"error": str(error), "do": f"give the tap as {FORMS}"}, 422)
        return Response(encode(told(rig, known, asked, said)), media_type="application/json")

    return router


def _asked(
    known: Basis, tap: str, water: float | None, work_s: float, kind: str, pumps: list[str] | None, site: str = ""
) -> Asked:
    supply = read_tap(tap) if tap else known.sites.get(site) if site else known.tap
    if supply is None:
        raise ValueError(UNHEARD)
    names = None if pumps is None else tuple(name for name in pumps if name)
    return Asked(supply, water, work_s, kind, names, None, known.draws_l_min, known.seen)


def told(rig: Rig, known: Basis, asked: Asked, said: Plan) -> dict[str, Any]:
    """The plan for the page, with all that its sliders need; l, l/min, s, kg and Pa."""
    tank, start_l = rig.tank, water_l(rig, asked)
    ranges = {name: getattr(said, name)._asdict() for name in ("worked_s", "waits", "waiting_s", "used_l", "ends_s")}
    return {
        "rig": {"name": rig.about.name, "units": rig.about.units, "language": rig.about.language},
        "tank": {"heel_l": tank.heel_l, "full_l": tank.full_l, "capacity_l": tank.capacity_l},
        "pumps": [pump.name for pump in rig.pumps],
        "kinds": list(KINDS),
        "seen_h": {name: len(hours) for name, hours in known.seen.items()},
        "sites": {name: tap.l_min for name, tap in known.sites.items()},
        "now": {"volume_l": known.volume_l, "tap_l_min": known.tap and known.tap.l_min},
        "tap": {**asked.tap._asdict(), "upper_bound": asked.tap.upper_bound},
        "water_l": start_l,
        "resumes_l": resumes_l(rig),
        "plan": {"lasts": said.lasts, **ranges, "bring_l": said.bring_l, "carried": said.carried},
        "quantiles": QUANTILES,
        "fan": [[band.at_s, *band.volumes_l] for band in said.fan],
        "road": road(rig, start_l)._asdict(),
        "hoses": [
            _hose(pump, known.extra_m.get(pump.name, 0.0))
            for pump in used(rig, asked)
            if pump.hose and pump.pressure_pa
        ],
    }


def _hose(pump: Pump, extra_m: float) -> dict[str, Any]:
    """What reaches the gun of a pump whose pressure and hose are in the rig file, through what was added too."""
    assert pump.hose is not None
    assert pump.pressure_pa is not None
    rated_pa, length_m = pump.hose.rated_pa, pump.hose.length_m + extra_m
    return {
        "pump": pump.name,
        "pump_pa": pump.pressure_pa,
        "gun_pa": hoses.at_gun_pa(pump.pressure_pa, pump.draw_l_min, pump.hose.bore_m, length_m),
        "extra_m": extra_m,
        "rating": None if rated_pa is None else hoses.against_rating(pump.pressure_pa, rated_pa),
    }
