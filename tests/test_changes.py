import json

from monitor.changes import AlarmChange, Forecast

FORECAST = Forecast(
    1795600000.0, 604.12345, 3.0, 0.0, -26.4999999, 26.5,
    {"Rides": 22.7, "Stalls": None}, {"Rides": 22.71239, "Stalls": 15.0},
    {"p05": 700.04, "p50": 900.16, "p95": None}, 1110.26, None, "good", "uncertain",
)  # fmt: skip


def test_a_forecast_is_told_in_the_contracts_words_and_order():
    assert json.dumps(FORECAST.line()) == (
        '{"at": 1795600000.0, "event": "forecast", "volume_l": 604.123, "volume_sd_l": 3.0, "inflow_l_min": 0.0, '
        '"net_l_min": -26.5, "draw_sum_l_min": 26.5, "draw_l_min": {"Rides": 22.7, "Stalls": null}, '
        '"draw_rate_l_min": {"Rides": 22.712, "Stalls": 15.0}, "dry_s": {"p05": 700.0, "p50": 900.2, "p95": null}, '
        '"dry_if_kept_s": 1110.3, "dry_flat_out_s": null, "level_quality": "good", "supply_quality": "uncertain"}'
    )


def test_what_is_not_known_is_null_and_nothing_is_ever_minus_zero():
    unknown = FORECAST._replace(volume_l=None, net_l_min=-0.0001, dry_s=None).line()
    assert unknown["volume_l"] is None
    assert unknown["dry_s"] is None
    assert json.dumps(unknown["net_l_min"]) == "0.0"


def test_an_alarm_change_is_told_in_the_contracts_words_and_order():
    change = AlarmChange(1795600012.5, "dry-soon", "critical", "unacknowledged")
    assert json.dumps(change.line()) == (
        '{"at": 1795600012.5, "event": "alarm", "alarm": "dry-soon", "priority": "critical", "state": "unacknowledged"}'
    )
    assert change._replace(subject="Rides").line()["subject"] == "Rides"
