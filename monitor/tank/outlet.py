"""How much water the outlet wants over it, and the heel that follows."""

from math import pi, sqrt

from monitor.tank.strapping import Strapping

G_M_S2 = 9.80665
"""Standard gravity (exact, CGPM 1901)."""


def submergence_m(bore_m: float, flow_l_min: float) -> float:
    """The least depth of water [m] over an intake that keeps strong free-surface vortices, and with them air, away.

        S = D (1 + 2.3 Fr),   Fr = V / √(g D),   V = Q / (π D² / 4)

    `bore_m`: inside diameter D [m], above 0; `flow_l_min`: flow Q [l/min], 0 or more. Meant for pump intakes of 0.1 m
    and more: for the small bores of a trailer it is extrapolated, a guide and no promise. A bell, an elbow that looks
    down, or a vortex plate does with less.

    A bore of 0.35 m at 1.5 m/s (8659 l/min) wants 1.00 m of water.

    Source: ANSI/HI 9.8, Rotodynamic Pumps for Pump Intake Design, minimum submergence.
    """
    speed_m_s = flow_l_min / 60_000 / (pi * bore_m**2 / 4)
    return bore_m * (1 + 2.3 * speed_m_s / sqrt(G_M_S2 * bore_m))


def heel_l(table: Strapping, bore_m: float, height_m: float, flow_l_min: float) -> float:
    """The water [l] a tank must keep so that an outlet draws no air at this flow.

    `height_m` is where the outlet opens, over the floor [m]: its lip where it looks down, its middle in a side wall.
    `flow_l_min` is the highest draw, all pumps together [l/min]. At most the whole tank.
    """
    return table.volume_l(height_m + submergence_m(bore_m, flow_l_min))
