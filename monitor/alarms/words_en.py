"""The alarms in English. Seconds and minutes named here are common practice, no published source."""

from monitor.alarms.catalogue import AlarmName
from monitor.alarms.wording import Variant, Words

CAUTIONS: dict[str, str] = {
    "aim": "Point the guns at the ground, away from people, animals and power lines.",
    "injection": "Water under high pressure goes through skin and gloves. A wound from it, however small, is an"
    " emergency: to a hospital at once.",
    "engine-off": "Engine off and pressure released before anything is disconnected or opened.",
    "hot-parts": "Engine, exhaust and pump head stay hot after stopping. No refuelling while they are hot.",
    "scalding": "A thermal relief may open without warning and spit scalding water. Keep clear of it.",
    "backflow": "Tank water must not run back into drinking water: hose end above the rim, vacuum breaker on.",
    "tank": "Look in from outside. Never enter a tank, nor put your head in.",
    "tow": "Water surges in a part-full tank and shifts the tongue weight. Keep to the ratings of trailer, hitch,"
    " tires and vehicle.",
    "driver": "Not for the driver's eyes: stop first, then read.",
    "carbon-monoxide": "Never run an engine or a burner enclosed: carbon monoxide kills unnoticed.",
    "chemicals": "Lines and water may hold bleach or other chemicals: goggles and gloves on, eye-rinse water at"
    " hand, nothing into drains or soil that the label or local rules forbid.",
    "makers": "The makers' instructions come first.",
}

_LOOK_IN = "Look at the water in the tank, and enter where it stands."
_UNTIL_MENDED = "Until it is mended, look into the tank often and stop early."
_SENSOR = "Check the sensor, its cable, plug and mounting."
_STOP = ("Let go of the triggers.", "Stop the engines.", "Squeeze the triggers to drop the pressure.")
_STOP_SOON = (
    "Let go of the triggers.",
    "Stop the engines: an idling pump still turns, heats and draws.",
    "Squeeze the triggers to drop the pressure.",
)

ALARMS: dict[AlarmName, Words] = {
    "dry": Words(
        "Dry: stop the pumps",
        "The water is down to the heel, or a pump has lost its suction and draws air.",
        "A pump that runs dry overheats: seals and packings fail, often within a minute.",
        (
            *_STOP,
            "Let the tank fill to the band.",
            "Restart by the maker's priming steps.",
        ),
        {
            "heel": Variant("The water is down to the heel: the outlet draws air."),
            "suction": Variant(
                "A pump runs and has lost its suction: it draws air, though there may be water in the tank.",
                (
                    *_STOP,
                    "Look at the water in the tank, the outlet valve, the strainer and the suction hose.",
                    "Restart by the maker's priming steps.",
                ),
            ),
        },
    ),
    "dry-soon": Words(
        "Dry soon: release triggers",
        "With the triggers held open, the water may reach the heel within the time it takes to shut down.",
        "The pumps draw air, and their seals and packings fail.",
        (
            *_STOP_SOON,
            "Wait until the water is back in the band.",
        ),
        {
            "no level": Variant(
                "Pumps run, and since the start no level has come that can be used: nobody knows what water is left.",
                (
                    *_STOP_SOON,
                    _LOOK_IN,
                ),
            ),
        },
    ),
    "pump-starved": Words(
        "Pump starved: stop it",
        "A pump draws and gets too little water: a shut outlet valve, a blocked strainer or air in the suction."
        " Only last, a stuck gauge.",
        "A starved pump cavitates and heats: seals, valves and packings fail within minutes.",
        (
            "Stop this pump first: let go of its trigger, then stop its engine.",
            "Squeeze its trigger to drop the pressure.",
            "Is the tank's outlet valve fully open?",
            "Clean the suction strainer.",
            "Look for air: loose clamps, a cracked or flattened suction hose.",
            "Doubt the gauge last: look at the water in the tank, and enter where it stands.",
        ),
        {
            "level trembles": Variant(
                "A pump draws and the level stands, but trembles as a live gauge does. That speaks for the pump:"
                " a shut outlet valve, a blocked strainer or air in the suction.",
            ),
            "level repeats": Variant(
                "A pump draws and the level repeats itself to the digit. That speaks for a stuck gauge, but a"
                " starved pump can't wait: stop it first.",
                (
                    "Stop this pump first: let go of its trigger, then stop its engine.",
                    "Squeeze its trigger to drop the pressure.",
                    "Is the tank's outlet valve fully open?",
                    "Look at the water in the tank, and enter where it stands.",
                    "If it has fallen, the gauge is stuck: check the sensor, its cable and plug.",
                    "If it has not, clean the suction strainer and look for air in the suction.",
                ),
            ),
            "suction": Variant(
                "The suction pressure of a pump has collapsed: a shut outlet valve, a blocked strainer or a"
                " flattened suction hose.",
                (
                    "Stop this pump first: let go of its trigger, then stop its engine.",
                    "Squeeze its trigger to drop the pressure.",
                    "Is the tank's outlet valve fully open?",
                    "Clean the suction strainer.",
                    "Look along the suction hose: flattened, kinked, or its lining come loose?",
                ),
            ),
        },
    ),
    "water-low": Words(
        "Water under the band",
        "More water has gone out than the tap brings in.",
        "Little is left for surprises: one more trigger, or a tap that weakens, and the tank runs dry.",
        (
            "Rest one pump, or all, until the water is back in the band.",
            "Is the tap fully open, the supply hose free of kinks?",
        ),
    ),
    "supply-lost": Words(
        "No water coming in",
        "Water should be coming in and is not: the tap is shut, the hose is kinked or off, or the supply has failed.",
        "The tank empties at the full rate of the pumps.",
        (
            "Go to the tap: is it open, does it give water elsewhere?",
            "Follow the hose: kinks, a wheel on it, a coupling that came off?",
            "Check the inlet strainer and the float valve.",
            "Rest the pumps until water comes in again.",
        ),
    ),
    "overfill": Words(
        "Tank over its full mark",
        "Water still comes in above the full mark: the float valve sticks, or filling was not stopped.",
        "The tank spills, the rig is heavier than meant, and the fill hose may hang in the water.",
        (
            "Shut the tap.",
            "Lift the hose end clear of the water.",
            "Check the float valve: does it move freely, does it shut?",
            "Let water off before towing.",
        ),
    ),
    "level-signal": Words(
        "Level gauge not trusted",
        "The level signal can't be right: missing, out of range, frozen, jumping, or against the water balance.",
        "The volume is carried on from what flows in and out, grows less sure, and warnings come earlier.",
        (_LOOK_IN, _SENSOR, _UNTIL_MENDED),
        {
            "missing": Variant("No level comes in any more: a cable, a plug, the power or the sensor."),
            "never heard": Variant(
                "No level has come in since the start: a cable, a plug, the power, or a wrong name in the rig file.",
                (_LOOK_IN, _SENSOR, "Compare the sensor's name with the rig file.", _UNTIL_MENDED),
            ),
            "out of range": Variant("The level signal is outside what the sensor or the tank can give."),
            "frozen": Variant("The level signal stands still while the water must be moving."),
            "jumping": Variant("The level jumps as no water can: splashes, foam, an echo, a loose plug."),
            "drifting": Variant("The level creeps away from what flows in and out: dirt, damp or an ageing sensor."),
            "contradicts": Variant("The level and what flows in and out contradict each other."),
        },
    ),
    "supply-signal": Words(
        "Inflow meter not trusted",
        "The inflow signal is missing, or contradicts the water balance.",
        "What comes in is only guessed from the level, and the forecast is less sure.",
        (
            "Look whether water comes in at the tank.",
            "Check the meter: dirt in its wheel, the way it points, cable and plug.",
            "Water filled past the meter? Say so on the page.",
        ),
        {
            "missing": Variant("No inflow is reported any more: a cable, a plug, the power or the meter."),
            "never heard": Variant(
                "No inflow has been reported since the start: a cable, a plug, the power, or a wrong name in the"
                " rig file."
            ),
            "out of range": Variant("The inflow signal is outside what the meter or the tap can give."),
            "frozen": Variant("The meter stands still while the tank takes in water."),
            "jumping": Variant("The meter's total jumps as no water can."),
            "drifting": Variant("The meter creeps away from what the level shows: dirt, wear or a wrong K-factor."),
            "contradicts": Variant("The meter and the level contradict each other."),
        },
    ),
    "node-lost": Words(
        "Sensor box lost",
        "A sensor box has gone, is silent, or restarts again and again.",
        "What it measures is no longer known, and warnings rest on the signals that are left.",
        (
            "Look into the tank: is there water, does it fall?",
            "Check the box's power: switch, fuse, battery, plug.",
            "Check its cable, or its aerial and the distance.",
            "If it doesn't come back, tell the owner and stop early.",
        ),
        {
            "gone": Variant("A sensor box has dropped its connection."),
            "silent": Variant("Nothing has been heard from a sensor box for longer than it ever rests."),
            "never heard": Variant(
                "Nothing has been heard from a sensor box since the start: its power, its cable or aerial, or a wrong"
                " name in the rig file."
            ),
            "reboots": Variant("A sensor box restarts again and again: mostly weak power or a loose plug."),
        },
    ),
    "bypass-hot": Words(
        "Pump hot on bypass",
        "A pump has run with its trigger closed longer than its bypass bears: the same water goes round and heats.",
        "The heat ruins seals and packings, and the thermal relief may spit scalding water.",
        (
            "Gun to the ground, pull the trigger until the water runs cool; or stop the engine.",
            "Not spraying? Stop the engine, then squeeze the trigger to drop the pressure.",
            "Leave the pump alone until it has cooled.",
        ),
    ),
    "draw-low": Words(
        "Pump takes too little",
        "A pump takes clearly less than it used to: a blocked strainer, air in the suction, a slipping belt, worn"
        " valves or packings, or more water going round the bypass.",
        "It cleans poorly, and what starves or slips today fails tomorrow.",
        (
            "Stop the pump, and squeeze its trigger to drop the pressure.",
            "Clean the suction strainer; is the outlet valve fully open?",
            "Look for air: loose clamps, a cracked suction hose.",
            "Check belt and engine speed.",
            "Still too little? Note it for service: valves, packings, unloader.",
        ),
    ),
    "draw-high": Words(
        "Pump takes too much",
        "A pump takes clearly more than it used to: the engine overspeeds, water leaks before the pump, or less"
        " goes round the bypass.",
        "The tank lasts less long than planned; overspeed wears pump and engine.",
        (
            "Look for water running out between tank and pump.",
            "Check the engine speed.",
            "Note it for service.",
        ),
    ),
    "leak": Words(
        "Water falls, no pump draws",
        "The water falls though no pump draws: a leak, an open drain, or a hose that siphons.",
        "The tank empties by itself.",
        (
            "Look under and around the rig for running water.",
            "Check drains, the outlet valve, fittings and hoses; is a gun open or a hose siphoning?",
            "Shut the outlet valve when all pumps are stopped.",
            "Letting water off on purpose? Say so on the page.",
        ),
    ),
    "tow-heavy": Words(
        "Too much water to tow",
        "There is more water aboard than the tow limit.",
        "The rig is heavier than its tires, brakes and hitch may bear, and the water surges.",
        (
            "Stop where it is safe.",
            "Let water off down to the tow mark, where it may run.",
            "Drive on when the water is under the mark.",
        ),
        {
            "packing up": Variant(
                "The crew packs up with more water aboard than the tow limit.",
                (
                    "Shut the tap, and use the water up or let it off where it may run.",
                    "Drive when the water is under the tow mark.",
                ),
            ),
            "moving": Variant("The rig moves with more water aboard than the tow limit."),
        },
    ),
    "freeze": Words(
        "Near freezing",
        "Water or air is close to freezing.",
        "Ice bursts pumps, valves, guns and hoses, and spray turns the ground to ice.",
        (
            "Mind where you step and where the spray lands.",
            "After work, stop the engines and drain tank, pumps, hoses and guns.",
            "Protect the pumps by the maker's winter steps.",
            "Never start a pump that may hold ice.",
        ),
        {
            "water": Variant("The water in the tank is close to freezing."),
            "air": Variant("The air is close to freezing."),
        },
    ),
    "journal": Words(
        "Records not being saved",
        "The journal can't be written: disk full, worn out or set read-only.",
        "Warnings work as ever, but what happens now will be missing from the records.",
        (
            "Carry on working.",
            "Tell the owner today: free some space on the rig's computer, or change its card.",
        ),
    ),
}
