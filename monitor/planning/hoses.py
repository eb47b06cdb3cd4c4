"""Hoses: what stands in them, what pressure they cost, and what is left for the gun.

Friction by Hazen and Williams in its SI form, h = 10.67 L Q^1.852 / (C^1.852 d^4.8704), for water near room
temperature; `tests/planning/test_hoses.py` holds it against the form of NFPA 13, Darcy-Weisbach, and EPANET.
"""

from math import pi, sqrt
from typing import Literal

SMOOTH_C = 150.0  # Hazen-Williams C of smooth rubber and plastic, common practice
GRAVITY_PA_PER_M = 9_806.65
NEAR_RATING = 0.9


def volume_l(bore_m: float, length_m: float) -> float:
    """What stands in a hose, in litres."""
    return 1000.0 * pi / 4.0 * bore_m**2 * length_m


def transit_s(bore_m: float, length_m: float, flow_l_min: float) -> float:
    """Seconds until a change at the pump is at the gun: plug flow. `flow_l_min` above 0."""
    return 60.0 * volume_l(bore_m, length_m) / flow_l_min


def friction_pa(flow_l_min: float, bore_m: float, length_m: float, smooth_c: float = SMOOTH_C) -> float:
    """The pressure lost along a hose, fittings not counted."""
    flow_m3_s = flow_l_min / 60_000.0
    head_m: float = 10.67 * length_m * flow_m3_s**1.852 / (smooth_c**1.852 * bore_m**4.8704)
    return head_m * GRAVITY_PA_PER_M


def flow_l_min(pressure_pa: float, bore_m: float, length_m: float, smooth_c: float = SMOOTH_C) -> float:
    """The flow at which a hose costs that much pressure."""
    if pressure_pa <= 0.0:
        return 0.0
    head_m = pressure_pa / GRAVITY_PA_PER_M
    flow_m3_s: float = (head_m * smooth_c**1.852 * bore_m**4.8704 / (10.67 * length_m)) ** (1.0 / 1.852)
    return 60_000.0 * flow_m3_s


def at_gun_pa(pump_pa: float, flow: float, bore_m: float, length_m: float) -> float:
    """What is left of the pump's pressure at the gun's end of the hose (`flow` in l/min), never below nothing."""
    return max(0.0, pump_pa - friction_pa(flow, bore_m, length_m))


def against_rating(pump_pa: float, rated_pa: float) -> Literal["well under", "near", "over"]:
    """How a pump's set or measured pressure stands to what the hose's maker rates it for."""
    share = pump_pa / rated_pa
    return "over" if share > 1.0 else "near" if share >= NEAR_RATING else "well under"


def nozzle_l_min(rated_l_min: float, rated_pa: float, at_pa: float) -> float:
    """What a nozzle passes at another pressure: by the square root (Bernoulli)."""
    return rated_l_min * sqrt(max(0.0, at_pa) / rated_pa)


def power_w(flow: float, pressure_pa: float) -> float:
    """The power in the water: flow (l/min) times pressure."""
    return flow / 60_000.0 * pressure_pa
