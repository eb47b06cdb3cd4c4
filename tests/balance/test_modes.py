"""A pump takes less past a soap nozzle, and the crew says when."""

import pytest
from test_balance import Cylinder

FULL_L_MIN, SOAP_L_MIN = 22.7, 13.0


@pytest.fixture
def trailer():
    trailer = Cylinder(1000.0)
    trailer.runs(60)
    for _ in range(4):
        trailer.runs(60, draw=FULL_L_MIN, inflow=10.0)
        trailer.runs(60, inflow=10.0)
    return trailer


def soaps(trailer, seconds):
    trailer.pump.soaps = True
    for _ in range(seconds // 60):
        trailer.runs(60, draw=SOAP_L_MIN, inflow=10.0)
    trailer.pump.soaps = False


def test_each_mode_has_its_rate_and_soaping_spoils_nothing_of_the_other(trailer):
    before = trailer.balance.belief.rates_l_min[0]
    trailer.pump.soaps = True
    belief = trailer.runs(300, draw=SOAP_L_MIN, inflow=10.0)
    assert belief.now_l_min[0] == pytest.approx(SOAP_L_MIN, abs=1.0)
    assert belief.rates_l_min[0] == pytest.approx(before, abs=0.1)
    trailer.pump.soaps = False
    belief = trailer.runs(60, draw=FULL_L_MIN, inflow=10.0)
    assert belief.now_l_min[0] == pytest.approx(FULL_L_MIN, rel=0.03)


def test_what_the_nozzle_lets_through_is_known_the_next_time_and_the_next_day(trailer):
    soaps(trailer, 300)
    name, learned = next(iter(trailer.balance.soaping_rates().items()))
    assert learned[0] == pytest.approx(SOAP_L_MIN, abs=1.0)
    tomorrow = Cylinder(800.0)
    tomorrow.balance.modes.restore([tomorrow.balance.soaping_rates().get(name) or learned])
    tomorrow.runs(60)
    tomorrow.pump.soaps = True
    assert tomorrow.runs(5, draw=SOAP_L_MIN).now_l_min[0] == pytest.approx(learned[0], abs=0.2)


def test_nobody_soaped_and_nothing_is_known_of_it(trailer):
    assert trailer.balance.soaping_rates() == {}
