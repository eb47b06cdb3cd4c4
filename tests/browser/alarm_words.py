"""Stand-in for the alarm words the monitor merges into /api/words: enough to fill the page in both languages."""

Words = dict[str, dict[str, str]]

EN = {
    "dry": ("Pump draws air", "The water is down at the outlet.",
            "Stop the engine. Squeeze the triggers. Fill before starting again."),
    "dry-soon": ("Nearly dry", "The pumps take more than is left.",
                 "Let go of the triggers. Stop the engines. Squeeze the triggers to drop the pressure."),
    "pump-starved": ("No water to pump", "It draws and the level stands.",
                     "Stop the pump. Then look: outlet valve open, strainer clean, hose tight? The gauge last."),
    "water-low": ("Water is low", "Under the working band.", "Let the tank fill before going on."),
    "supply-lost": ("No water coming in", "The tap, the hose or somebody closed it.",
                    "Look at the tap and along the hose."),
    "overfill": ("Filling too far", "The float valve did not shut.", "Shut the tap."),
    "level-signal": ("Level not sure", "The level signal can't be believed.", "Look at the tank. Go by the water line."),
    "supply-signal": ("Meter not sure", "The meter is silent or wrong.", "Look whether water comes in."),
    "node-lost": ("Sensor box silent", "No power or no link.", "Look at its plug and its light."),
    "bypass-hot": ("Pump getting hot", "Too long with the trigger shut.", "Pull the trigger or stop the engine."),
    "draw-low": ("Draws too little", "Strainer, air or worn valves.", "Clean the strainer. Look for air in the suction."),
    "draw-high": ("Draws too much", "Engine too fast, or a leak.", "Look at the engine speed and for leaks."),
    "leak": ("Water is leaking", "The water falls and no pump draws.", "Walk along tank, fittings and hoses."),
    "tow-heavy": ("Too heavy to tow", "More water than the tow limit.", "Use the water up before towing."),
    "freeze": ("Near freezing", "Cold air or water.", "Drain pumps and hoses, or keep them warm."),
    "journal": ("Record not kept", "The journal can't be written.", "Tell the owner. The warnings go on."),
}  # fmt: skip

ES = {
    "dry": ("La bomba toma aire", "El agua llegó a la salida.",
            "Pare el motor. Apriete los gatillos. Llene antes de arrancar."),
    "dry-soon": ("Casi seco", "Las bombas toman más de lo que queda.",
                 "Suelte los gatillos. Pare los motores. Apriete los gatillos para quitar la presión."),
    "pump-starved": ("Bomba sin agua", "Toma y el nivel no baja.",
                     "Pare la bomba. Luego mire: ¿válvula abierta, filtro limpio, manguera firme? El medidor al final."),
    "water-low": ("Poca agua", "Bajo el margen de trabajo.", "Deje llenar el tanque antes de seguir."),
    "supply-lost": ("No entra agua", "La llave o la manguera.", "Mire la llave y toda la manguera."),
    "overfill": ("Se pasa de lleno", "El flotador no cerró.", "Cierre la llave."),
    "level-signal": ("Nivel dudoso", "No se puede creer el nivel.", "Mire el tanque. Guíese por el agua."),
    "supply-signal": ("Medidor dudoso", "El medidor calla o se equivoca.", "Mire si entra agua."),
    "node-lost": ("Sensor callado", "Sin corriente o sin enlace.", "Mire su enchufe y su luz."),
    "bypass-hot": ("Bomba caliente", "Mucho tiempo con el gatillo suelto.", "Apriete el gatillo o pare el motor."),
    "draw-low": ("Toma muy poco", "Filtro, aire o válvulas gastadas.", "Limpie el filtro. Busque aire en la succión."),
    "draw-high": ("Toma demasiado", "Motor acelerado o fuga.", "Mire la velocidad del motor y busque fugas."),
    "leak": ("Hay una fuga", "Baja el agua sin bombas.", "Recorra tanque, uniones y mangueras."),
    "tow-heavy": ("Pesa demasiado", "Más agua que el límite.", "Gaste el agua antes de remolcar."),
    "freeze": ("Cerca de helar", "Aire o agua fríos.", "Vacíe bombas y mangueras o manténgalas tibias."),
    "journal": ("No se guarda", "No se puede escribir el registro.", "Avise al dueño. Los avisos siguen."),
}  # fmt: skip


def words(language: str) -> Words:
    said = {"en": EN, "es": ES}[language]
    after = {"en": "A pump may be lost.", "es": "Puede perderse una bomba."}[language]
    return {name: {"title": title, "cause": cause, "consequence": after, "do": do} for name, (title, cause, do) in said.items()}
