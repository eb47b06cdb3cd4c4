"""The words for what one more sensor would buy."""

WORDS = {
    "en": {
        "nothing": "nothing that is known of",
        "and": "and",
        "now": "As it is, with {volume} above the heel, every pump at work and a tap that gives half of what they "
        "draw, the time to dry is known to be {range} (nine times in ten; work and tap going on as they are).",
        "alone": "With {pump} alone at work, and a tap that gives half of what it draws, it is {without} without and "
        "{range} with it.",
        "with": "With it: {range}.",
        "second": "With a second level sensor: {range}.",
        "range": "{low} to {high}",
        "over": "over {time}",
        "meter": "A meter on the inflow ([supply]): inflow and draw are told apart at once, not only by how the level "
        "moves, and supply-lost is raised when the tap fails.",
        "drawing": "A flow switch past the unloader (drawing) on {names}: each pump's draw is measured instead of "
        "inferred, a leak shows in minutes, and the balance carries on through a lost level.",
        "running": "An engine or clutch signal (running) on {names}: which pumps may draw is bounded, and a leak can "
        "be looked for while all stand still.",
        "slope": "A slope reading, or a second level sensor at the tank's other end: a trailer that stands askew no "
        "longer shifts the level. {length} of error at the band's low mark is {volume}{worth}.",
        "worth": ", {time} of all pumps",
        "water": "A water temperature for {reading}: up to a third of a percent of the height.",
        "air": "An air temperature for {reading}: 1.7 % of the distance for each 10 °C off.",
        "motion": "A motion signal: tow-heavy is raised by the trailer's own moving, not only when somebody packs up.",
    },
    "es": {
        "nothing": "nada que se sepa",
        "and": "y",
        "now": "Tal como está, con {volume} sobre el volumen muerto, todas las bombas trabajando y una llave que da la "
        "mitad de lo que sacan, se sabe que el tiempo hasta quedar sin agua va {range} (nueve de cada diez veces; si "
        "el trabajo y la llave siguen igual).",
        "alone": "Con solo {pump} trabajando, y una llave que da la mitad de lo que saca, va {without} sin la señal y "
        "{range} con ella.",
        "with": "Con eso: {range}.",
        "second": "Con un segundo sensor de nivel: {range}.",
        "range": "de {low} a {high}",
        "over": "más de {time}",
        "meter": "Un medidor en la entrada ([supply]): la entrada y el consumo se distinguen enseguida, no solo por "
        "cómo se mueve el nivel, y supply-lost avisa cuando falla la llave.",
        "drawing": "Un interruptor de flujo después de la válvula descargadora (drawing) en {names}: el consumo de "
        "cada bomba se mide en vez de deducirse, una fuga se ve en minutos y el balance sigue aunque se pierda el "
        "nivel.",
        "running": "Una señal del motor o del embrague (running) en {names}: se sabe qué bombas pueden sacar agua, y "
        "se puede buscar una fuga mientras todas están paradas.",
        "slope": "Una lectura de inclinación, o un segundo sensor de nivel en la otra punta del tanque: un remolque "
        "ladeado ya no corre el nivel. {length} de error en la marca baja de la franja son {volume}{worth}.",
        "worth": ", {time} de todas las bombas",
        "water": "La temperatura del agua para {reading}: hasta un tercio de uno por ciento de la altura.",
        "air": "La temperatura del aire para {reading}: 1.7 % de la distancia por cada 10 °C de diferencia.",
        "motion": "Una señal de movimiento: tow-heavy avisa porque el remolque se mueve, no solo cuando alguien "
        "recoge.",
    },
}
