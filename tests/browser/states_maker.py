"""Makes dashboards/states/*.json: the example states that feed the tests, the gallery and the pictures.

Invented data for the fairground rig. Every number follows from the few given ones (water, flows, who draws), so that
a state agrees with itself; `test_states.py` checks that with formulas of its own.

    python tests/browser/states_maker.py        writes the files anew
"""

import json
from pathlib import Path

from states_parts import (
    AT,
    GAL,
    HEEL,
    State,
    alarm,
    part,
    past,
    pumps,
    rig,
    say,
    seconds_to,
    signals,
    state,
    supply,
    time_left_s,
    water,
)

HERE = Path(__file__).resolve().parents[2] / "dashboards" / "states"

GRANDSTAND, FOOD = "Grandstand & carousel hot-water machine", "Food stalls along the north fence"
LONG = {GRANDSTAND: 22.0, FOOD: 15.0, "Stable block, cold, the old one": 11.0}
SIX = {"Rides": 22.7, "Stalls": 15.1, "Stands": 11.4, "Gates": 9.5, "Barns": 7.6, "Spare": 7.6}
METRIC = {"units": "metric", "timezone": "Europe/Madrid", "language": "es", "name": "Remolque de lavado del ferial"}
SLOW = 1.5 * GAL
SLOW_SITE = {"tap_l_min": SLOW, "tap_range_l_min": [1.4 * GAL, 1.7 * GAL]}


def calm_states() -> dict[str, State]:
    both, one = pumps(("Rides", "Stalls")), pumps(("Rides",))
    return {
        "falling": state("Two pumps draw more than the tap gives", 112, used=both,
                         advice=say("stop_to_hold", stop=["Rides"], keep=["Stalls"], volume_l=112 * GAL)),
        "holding": state("The tap carries the pump in use; the permit is on", 128, 4.1, pumps(("Stalls",)),
                         permit={"on": True, "why": None}, advice=say("carries_all")),
        "filling": state("Pumps off, the tank fills", 140, advice=say("filling", full_s=60 * 160 / 4.2)),
        "over-an-hour": state("Falling slowly: dry in over an hour", 150, used=one,
                              advice=say("share", percent=70)),
        "forty-minutes": state("Dry in about 40 minutes, known to within ten", 98, used=one,
                               advice=say("share", percent=70)),
        "slow-tap": state("The tap carries no pump at all", 80, 1.5, both, supply=supply("flowing", SLOW, **SLOW_SITE),
                          advice=say("stop_buys", stop=["Rides"],
                                     gains_s=seconds_to(80, -2.5) - seconds_to(80, -8.5))),
        "pause": state("Triggers closed: holding now, but work will go on", 96, 4.1,
                       pumps(("Stalls",), Rides="bypass"),
                       advice=say("stop_to_hold", stop=["Rides"], keep=["Stalls"], volume_l=96 * GAL),
                       dry={"p05": 840.0, "p50": 1500.0, "p95": 2700.0}),
        "bypass": state("One pump on bypass, one draws", 104, 4.1, pumps(("Stalls",), Rides="bypass"),
                        advice=say("stop_to_hold", stop=["Rides"], keep=["Stalls"], volume_l=104 * GAL)),
        "full": state("Full, the float valve has shut", 300, 0.0, supply=supply("closed", 0.0), advice=say("full")),
        "idle": state("Nothing draws, nothing comes in", 160, 0.0, supply=supply("none", 0.0), advice=say("idle")),
        "no-meter": state("No meter in the rig file", 118, None, both, supply=supply("absent", None),
                          dry={"p05": 480.0, "p50": 840.0, "p95": 1500.0}, advice=say("unmetered")),
        "long-names": state("Three pumps with long names, metric, Spanish", 112, 4.2,
                            pumps((GRANDSTAND, FOOD), LONG), rig=rig(**METRIC),
                            advice=say("stop_to_hold", stop=[GRANDSTAND], keep=[FOOD], volume_l=112 * GAL)),
        "six-pumps": state("Six pumps, three draw", 150, 4.2, pumps(("Rides", "Stalls", "Gates"), SIX),
                           advice=say("stop_to_hold", stop=["Rides", "Gates"], keep=["Stalls"], volume_l=150 * GAL)),
        "simulated": state("The demo at ten times life", 112, used=both, source="simulated", scenario="fairground",
                           speed=10.0, advice=say("stop_to_hold", stop=["Rides"], keep=["Stalls"], volume_l=112 * GAL)),
    }  # fmt: skip


def unknowing_states() -> dict[str, State]:
    both = pumps(("Rides", "Stalls"))
    blurred = [{**p, "state": "unknown", "certain": False, "draw_l_min": None} for p in pumps()]
    guessed = [{**p, "certain": p["name"] == "Rides"} for p in both]
    unsplit = state("The sum is known, the split is not", 112, 4.2, blurred,
                    advice=None, dry={"p05": 600.0, "p50": 900.0, "p95": 1620.0})
    unsplit["forecast"] |= {"draw_sum_l_min": 37.9, "net_l_min": round(4.2 * GAL, 2) - 37.9}
    kept = 60 * (unsplit["forecast"]["volume_l"] - HEEL) / -unsplit["forecast"]["net_l_min"]
    unsplit["forecast"] |= {"dry_if_kept_s": round(kept, 1)}
    unsplit["water"] = water(unsplit["forecast"]["volume_l"], unsplit["forecast"]["net_l_min"])
    unsplit["past"] = past(unsplit["forecast"]["volume_l"], 4.0, unsplit["forecast"]["net_l_min"])
    silent = {"age_s": None, "signals": [
        {"name": "tank/level", "node": "tank", "value": None, "unit": "m", "age_s": None, "count": 0,
         "quality": "unknown", "why": None},
        {"name": "inlet/total", "node": "inlet", "value": None, "unit": "l", "age_s": None, "count": 0,
         "quality": "unknown", "why": None}]}
    nothing_runs = [{**p, "running_s_today": 0.0, "state_since": None} for p in blurred]
    return {
        "guessed": state("Who draws is inferred, not told", 112, used=guessed,
                         advice=say("stop_to_hold", stop=["Rides"], keep=["Stalls"], volume_l=112 * GAL)),
        "unsplit": unsplit,
        "level-uncertain": state("The level is not believed; the balance carries the volume", 112, used=both, sd=34.0,
                                 quality="uncertain", dry={"p05": 420.0, "p50": 870.0, "p95": 1620.0},
                                 alarms=[alarm("level-signal", signal="tank/level", node="tank")],
                                 advice=say("stop_to_hold", stop=["Rides"], keep=["Stalls"], volume_l=112 * GAL)),
        "stale": state("No level reading for 47 s", 104, used=both, sd=22.0, quality="bad", age_s=47.0,
                       dry={"p05": 480.0, "p50": 790.0, "p95": 1320.0},
                       signals=signals(104 * GAL, 4.2 * GAL, age_s=47.0, quality="bad", why="missing"),
                       alarms=[alarm("level-signal", "acknowledged", signal="tank/level", node="tank",
                                     since=AT - 41)],
                       advice=say("stop_to_hold", stop=["Rides"], keep=["Stalls"], volume_l=104 * GAL)),
        "no-data": state("Nothing has arrived since the start", None, None, nothing_runs,
                         supply=supply("unknown", None),
                         alarms=[alarm("node-lost", node="tank", variant="never heard", followers=["level-signal"],
                                       since=AT - 300)],
                         started_s=310.0, **silent),
        "first-start": state("First start: some level, nothing learned yet", 190, None,
                             [{**p, "rate_l_min": None, "line_s": None} for p in nothing_runs], sd=12.0, dry=None,
                             supply=supply("unknown", None), started_s=9.0, past_minutes=0),
    }  # fmt: skip


def alarm_states() -> dict[str, State]:
    both = pumps(("Rides", "Stalls"))
    soon = {"alarms": [alarm("dry-soon", time_s=time_left_s(42, 3, -5.8), followers=["water-low"])],
            "permit": {"on": True, "why": None},
            "advice": say("wait_then", wait_s=60 * 8 / 4.2, volume_l=50 * GAL)}
    return {
        "water-low": state("Under the band", 46, used=both,
                           alarms=[alarm("water-low", time_s=time_left_s(46, 4, -5.8))],
                           advice=say("wait_then", wait_s=60 * 4 / 4.2, volume_l=50 * GAL)),
        "dry-soon": state("The heel may be reached within the act time", 42, used=both, sd=3.0, **soon),
        "under-two": state("Dry in under two minutes", 36, used=both, sd=3.0,
                           alarms=[alarm("dry-soon", time_s=time_left_s(36, 3, -5.8),
                                         followers=["water-low"])],
                           advice=say("wait_then", wait_s=60 * 14 / 4.2, volume_l=50 * GAL)),
        "dry-soon-heard": state("Critical and acknowledged; a second alarm stands too", 39, 0.0, both, sd=3.0,
                                supply=supply("none", 0.0), advice=say("no_supply", lasts_s=seconds_to(39, -10)),
                                alarms=[alarm("dry-soon", "acknowledged", time_s=time_left_s(39, 3, -10),
                                              since=AT - 31),
                                        alarm("supply-lost", since=AT - 80)]),
        "dry": state("At the heel with a pump drawing air", 30, 0.0, pumps(("Rides",)), sd=3.0,
                     supply=supply("none", 0.0), dry={"p05": 0.0, "p50": 0.0, "p95": 0.0},
                     advice=say("no_supply", lasts_s=0.0),
                     alarms=[alarm("dry", pump="Rides", variant="suction")]),
        "supply-lost": state("Water should be coming in and is not", 122, 0.0, both, supply=supply("none", 0.0),
                             alarms=[alarm("supply-lost")],
                             advice=say("no_supply", lasts_s=seconds_to(122, -10))),
        "pump-starved": state("A pump draws and the level stands still", 140, 0.0, pumps(("Rides",)),
                              supply=supply("none", 0.0), dry=None,
                              advice=say("no_supply", lasts_s=seconds_to(140, -6)),
                              alarms=[alarm("pump-starved", pump="Rides")]),
        "long-names-starved": state("A pump with a long name is starved, metric, Spanish", 140, 0.0,
                                    pumps((GRANDSTAND,), LONG), rig=rig(**METRIC), supply=supply("none", 0.0),
                                    dry=None, alarms=[alarm("pump-starved", pump=GRANDSTAND)],
                                    advice=say("no_supply", lasts_s=60 * 110 * GAL / 22)),
        "bypass-hot": state("A pump too long on bypass", 150, 4.2, pumps((), Rides="bypass"),
                            alarms=[alarm("bypass-hot", pump="Rides")],
                            advice=say("share", percent=70)),
        "overfill": state("Above the full mark and still coming in", 306, 4.2, advice=say("full"),
                          alarms=[alarm("overfill")]),
        "over-now": state("An alarm that went by itself, not yet seen by anybody", 128, 4.1, pumps(("Stalls",)),
                          advice=say("carries_all"),
                          alarms=[alarm("supply-lost", "returned to normal unacknowledged", since=AT - 400)]),
        "dry-soon-over": state("A critical alarm that went by itself, not yet seen by anybody", 60, 4.2,
                               advice=say("filling", full_s=60 * 240 / 4.2),
                               alarms=[alarm("dry-soon", "returned to normal unacknowledged",
                                             since=AT - 160)]),
        "many-alarms": state("Several things at once", 112, 4.2, both,
                             advice=say("stop_to_hold", stop=["Rides"], keep=["Stalls"], volume_l=112 * GAL),
                             alarms=[alarm("draw-low", pump="Rides", since=AT - 90),
                                     alarm("freeze", "acknowledged", since=AT - 3000),
                                     alarm("leak", "shelved", since=AT - 2000, shelved_until=AT + 1600),
                                     alarm("journal", since=AT - 700)]),
        "permit-stopped": state("The permit of the pumps has stopped and waits for a person", 128, 4.1,
                                permit={"on": False, "why": "dry-soon"}, notices=part("notices"),
                                advice=say("filling", full_s=60 * 172 / 4.1)),
        "parts-broken": state("Nothing is recorded, and the broker is gone", 128, 4.1, pumps(("Stalls",)),
                              journal=part("journal", "The disk is full.", "Make room on it."),
                              notices=part("notices", "The broker does not answer.", "See whether it runs."),
                              alarms=[alarm("journal", since=AT - 9)], advice=say("carries_all")),
        "packing-up": state("Packing up, too heavy to tow", 112, 4.2, packing_up=True,
                            alarms=[alarm("tow-heavy", variant="packing up")],
                            advice=say("filling", full_s=60 * 188 / 4.2)),
        "towing": state("On the road with too much water", 112, 0.0, motion=True, packing_up=True,
                        supply=supply("none", 0.0), alarms=[alarm("tow-heavy", variant="moving")],
                        advice=say("idle")),
    }  # fmt: skip


def all_states() -> dict[str, State]:
    made = {**calm_states(), **unknowing_states(), **alarm_states()}
    unmetered = made["no-meter"]  # the net flow is not known, and the volume falls
    volume = unmetered["forecast"]["volume_l"]
    unmetered["water"]["trend"] = "falling"
    unmetered["past"] = past(volume, 4.0, round(-(volume - HEEL) / 14, 2))
    for starved in (made["pump-starved"], made["long-names-starved"]):
        # the balance says falling, the level stands: nothing can be said
        starved["forecast"] |= {"net_l_min": None, "dry_if_kept_s": None, "dry_flat_out_s": None}
        starved["water"] |= {"trend": "holding", "full_in_s": None}
        starved["past"] = past(starved["forecast"]["volume_l"], 4.0, 0.0)
    return made


def written(state_: State) -> str:
    return json.dumps(state_, ensure_ascii=False, separators=(",", ":")) + "\n"


def main() -> None:
    HERE.mkdir(exist_ok=True)
    made = all_states()
    for name, state_ in made.items():
        (HERE / f"{name}.json").write_text(written(state_), encoding="utf-8")
    (HERE / "index.json").write_text(json.dumps(list(made), indent=0) + "\n", encoding="utf-8")


if __name__ == "__main__":
    main()
