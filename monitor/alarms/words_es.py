"""Las alarmas en español. Los segundos y minutos nombrados son práctica común, sin fuente publicada."""

from monitor.alarms.catalogue import AlarmName
from monitor.alarms.wording import Variant, Words

CAUTIONS: dict[str, str] = {
    "aim": "Apunte las pistolas al suelo, lejos de personas, animales y cables eléctricos.",
    "injection": "El agua a alta presión atraviesa la piel y los guantes. Una herida así, por pequeña que sea, es una"
    " emergencia: al hospital de inmediato.",
    "engine-off": "Motor apagado y presión liberada antes de desconectar o abrir cualquier cosa.",
    "hot-parts": "El motor, el escape y el cabezal de la bomba siguen calientes al parar. No cargue combustible en"
    " caliente.",
    "scalding": "El alivio térmico puede abrirse sin aviso y escupir agua hirviente. Manténgase lejos.",
    "backflow": "El agua del tanque no debe volver al agua potable: punta de la manguera por encima del borde y"
    " rompevacío puesto.",
    "tank": "Mire desde afuera. Nunca entre en un tanque ni meta la cabeza.",
    "tow": "En un tanque a medio llenar el agua se mueve y cambia el peso sobre la lanza. Respete los límites de"
    " remolque, enganche, llantas y vehículo.",
    "driver": "No es para los ojos de quien maneja: pare primero, lea después.",
    "carbon-monoxide": "Nunca deje andar un motor o un quemador en un lugar cerrado: el monóxido de carbono mata sin"
    " que se note.",
    "chemicals": "Las líneas y el agua pueden llevar cloro u otros químicos: gafas y guantes puestos, agua para los"
    " ojos a mano, y nada al desagüe o a la tierra que prohíban la etiqueta o las normas del lugar.",
    "makers": "Las instrucciones de los fabricantes van primero.",
}

_LOOK_IN = "Mire el agua en el tanque y anote dónde está."
_UNTIL_MENDED = "Hasta que se arregle, mire seguido el tanque y pare temprano."
_SENSOR = "Revise el sensor, su cable, su conector y su montaje."
_STOP = ("Suelte los gatillos.", "Pare los motores.", "Apriete los gatillos para bajar la presión.")
_STOP_SOON = (
    "Suelte los gatillos.",
    "Pare los motores: una bomba en ralentí sigue girando, calentándose y tomando agua.",
    "Apriete los gatillos para bajar la presión.",
)

ALARMS: dict[AlarmName, Words] = {
    "dry": Words(
        "Sin agua: pare las bombas",
        "El agua bajó al volumen muerto, o una bomba perdió la succión y aspira aire.",
        "Una bomba en seco se recalienta: sellos y empaques fallan, muchas veces en menos de un minuto.",
        (
            *_STOP,
            "Deje que el tanque se llene hasta la franja de trabajo.",
            "Arranque de nuevo con los pasos de cebado del fabricante.",
        ),
        {
            "heel": Variant("El agua bajó al volumen muerto: la salida aspira aire."),
            "suction": Variant(
                "Una bomba anda y perdió la succión: aspira aire, aunque quizá haya agua en el tanque.",
                (
                    *_STOP,
                    "Mire el agua en el tanque, la válvula de salida, el filtro y la manguera de succión.",
                    "Arranque de nuevo con los pasos de cebado del fabricante.",
                ),
            ),
        },
    ),
    "dry-soon": Words(
        "Casi seco: suelte gatillos",
        "Con los gatillos apretados, el agua puede llegar al volumen muerto en lo que se tarda en parar todo.",
        "Las bombas aspiran aire, y sus sellos y empaques fallan.",
        (
            *_STOP_SOON,
            "Espere a que el agua vuelva a la franja de trabajo.",
        ),
        {
            "no level": Variant(
                "Hay bombas en marcha, y desde el arranque no llegó un nivel que sirva: nadie sabe cuánta agua queda.",
                (
                    *_STOP_SOON,
                    _LOOK_IN,
                ),
            ),
        },
    ),
    "pump-starved": Words(
        "Bomba sin agua: párela",
        "Una bomba trabaja y le llega muy poca agua: válvula de salida cerrada, filtro tapado o aire en la succión."
        " Solo al final, un medidor de nivel trabado.",
        "Una bomba sin agua cavita y se calienta: sellos, válvulas y empaques fallan en minutos.",
        (
            "Pare primero esta bomba: suelte su gatillo y apague su motor.",
            "Apriete su gatillo para bajar la presión.",
            "¿Está bien abierta la válvula de salida del tanque?",
            "Limpie el filtro de succión.",
            "Busque entradas de aire: abrazaderas flojas, manguera de succión rajada o aplastada.",
            "Dude del medidor al final: mire el agua en el tanque y anote dónde está.",
        ),
        {
            "level trembles": Variant(
                "Una bomba trabaja y el nivel no baja, pero tiembla como en un medidor vivo. Eso apunta a la bomba:"
                " válvula de salida cerrada, filtro tapado o aire en la succión.",
            ),
            "level repeats": Variant(
                "Una bomba trabaja y el nivel se repite hasta el último dígito. Eso apunta a un medidor trabado, pero"
                " una bomba sin agua no puede esperar: párela primero.",
                (
                    "Pare primero esta bomba: suelte su gatillo y apague su motor.",
                    "Apriete su gatillo para bajar la presión.",
                    "¿Está bien abierta la válvula de salida del tanque?",
                    "Mire el agua en el tanque y anote dónde está.",
                    "Si bajó, el medidor está trabado: revise el sensor, su cable y su conector.",
                    "Si no bajó, limpie el filtro de succión y busque aire en la succión.",
                ),
            ),
            "suction": Variant(
                "La presión de succión de una bomba se desplomó: válvula de salida cerrada, filtro tapado o manguera"
                " de succión aplastada.",
                (
                    "Pare primero esta bomba: suelte su gatillo y apague su motor.",
                    "Apriete su gatillo para bajar la presión.",
                    "¿Está bien abierta la válvula de salida del tanque?",
                    "Limpie el filtro de succión.",
                    "Recorra la manguera de succión: ¿aplastada, doblada o con el forro suelto?",
                ),
            ),
        },
    ),
    "water-low": Words(
        "Agua bajo la franja",
        "Salió más agua de la que trae la llave.",
        "Queda poco para imprevistos: un gatillo más, o una llave que afloja, y el tanque se seca.",
        (
            "Descanse una bomba, o todas, hasta que el agua vuelva a la franja de trabajo.",
            "¿Está la llave bien abierta y la manguera de suministro sin dobleces?",
        ),
    ),
    "supply-lost": Words(
        "No entra agua",
        "Debería entrar agua y no entra: llave cerrada, manguera doblada o suelta, o corte del suministro.",
        "El tanque se vacía al ritmo completo de las bombas.",
        (
            "Vaya a la llave: ¿está abierta?, ¿sale agua en otro lado?",
            "Recorra la manguera: ¿dobleces, una rueda encima, un acople suelto?",
            "Revise el filtro de entrada y la válvula de flotador.",
            "Descanse las bombas hasta que vuelva a entrar agua.",
        ),
    ),
    "overfill": Words(
        "Tanque sobre su marca",
        "Sigue entrando agua por encima de la marca de lleno: la válvula de flotador se traba o no se cortó el"
        " llenado.",
        "El tanque rebosa, el equipo pesa más de lo previsto y la manguera puede quedar dentro del agua.",
        (
            "Cierre la llave.",
            "Saque del agua la punta de la manguera.",
            "Revise la válvula de flotador: ¿se mueve libre?, ¿cierra?",
            "Bote agua antes de remolcar.",
        ),
    ),
    "level-signal": Words(
        "Medidor de nivel dudoso",
        "La señal de nivel no puede ser cierta: falta, está fuera de rango, congelada, salta o contradice el balance"
        " de agua.",
        "El volumen se lleva por lo que entra y sale, con menos certeza, y los avisos llegan antes.",
        (_LOOK_IN, _SENSOR, _UNTIL_MENDED),
        {
            "missing": Variant("Ya no llega el nivel: un cable, un conector, la corriente o el sensor."),
            "never heard": Variant(
                "No ha llegado ningún nivel desde el arranque: un cable, un conector, la corriente, o un nombre"
                " equivocado en el archivo del equipo.",
                (_LOOK_IN, _SENSOR, "Compare el nombre del sensor con el archivo del equipo.", _UNTIL_MENDED),
            ),
            "out of range": Variant("La señal de nivel está fuera de lo que el sensor o el tanque pueden dar."),
            "frozen": Variant("La señal de nivel no se mueve cuando el agua tiene que estar moviéndose."),
            "jumping": Variant(
                "El nivel salta como no puede el agua: salpicaduras, espuma, un eco, un conector flojo."
            ),
            "drifting": Variant(
                "El nivel se aparta poco a poco de lo que entra y sale: suciedad, humedad o un sensor viejo."
            ),
            "contradicts": Variant("El nivel y lo que entra y sale se contradicen."),
        },
    ),
    "supply-signal": Words(
        "Medidor de entrada dudoso",
        "La señal de entrada de agua falta o contradice el balance de agua.",
        "Lo que entra solo se estima por el nivel, y el pronóstico es menos seguro.",
        (
            "Mire si entra agua en el tanque.",
            "Revise el medidor: suciedad en su rueda, hacia dónde apunta, cable y conector.",
            "¿Llenaron sin pasar por el medidor? Dígalo en la pantalla.",
        ),
        {
            "missing": Variant("Ya no se informa la entrada: un cable, un conector, la corriente o el medidor."),
            "never heard": Variant(
                "No se ha informado ninguna entrada desde el arranque: un cable, un conector, la corriente, o un nombre"
                " equivocado en el archivo del equipo."
            ),
            "out of range": Variant("La señal de entrada está fuera de lo que el medidor o la llave pueden dar."),
            "frozen": Variant("El medidor no se mueve mientras el tanque recibe agua."),
            "jumping": Variant("El total del medidor salta como no puede el agua."),
            "drifting": Variant(
                "El medidor se aparta poco a poco de lo que muestra el nivel: suciedad, desgaste o factor K errado."
            ),
            "contradicts": Variant("El medidor y el nivel se contradicen."),
        },
    ),
    "node-lost": Words(
        "Sensores sin señal",
        "Una caja de sensores se fue, calla o se reinicia una y otra vez.",
        "Lo que ella mide ya no se sabe, y los avisos se apoyan en las señales que quedan.",
        (
            "Mire el tanque: ¿hay agua?, ¿baja?",
            "Revise la corriente de la caja: interruptor, fusible, batería, conector.",
            "Revise su cable, o su antena y la distancia.",
            "Si no vuelve, avise al dueño y pare temprano.",
        ),
        {
            "gone": Variant("Una caja de sensores cortó su conexión."),
            "silent": Variant("No se oye nada de una caja de sensores desde hace más de lo que suele callar."),
            "never heard": Variant(
                "No se oyó nada de una caja de sensores desde el arranque: su corriente, su cable o antena, o un nombre"
                " equivocado en el archivo del equipo."
            ),
            "reboots": Variant(
                "Una caja de sensores se reinicia una y otra vez: casi siempre poca corriente o un conector flojo."
            ),
        },
    ),
    "bypass-hot": Words(
        "Bomba caliente en retorno",
        "Una bomba anduvo con el gatillo cerrado más de lo que aguanta su retorno: la misma agua da vueltas y se"
        " calienta.",
        "El calor arruina sellos y empaques, y el alivio térmico puede escupir agua hirviente.",
        (
            "Pistola al suelo, apriete el gatillo hasta que salga agua fresca; o apague el motor.",
            "¿No va a lavar? Apague el motor y después apriete el gatillo para bajar la presión.",
            "No toque la bomba hasta que se enfríe.",
        ),
    ),
    "draw-low": Words(
        "Bomba toma muy poco",
        "Una bomba toma claramente menos que antes: filtro tapado, aire en la succión, correa que patina, válvulas o"
        " empaques gastados, o más agua por el retorno.",
        "Lava mal, y lo que hoy sufre o patina mañana falla.",
        (
            "Pare la bomba y apriete su gatillo para bajar la presión.",
            "Limpie el filtro de succión; ¿está bien abierta la válvula de salida?",
            "Busque entradas de aire: abrazaderas flojas, manguera de succión rajada.",
            "Revise la correa y las vueltas del motor.",
            "¿Sigue igual? Anótelo para servicio: válvulas, empaques, válvula descargadora.",
        ),
    ),
    "draw-high": Words(
        "Bomba toma demasiado",
        "Una bomba toma claramente más que antes: motor acelerado, fuga antes de la bomba o menos agua por el"
        " retorno.",
        "El tanque dura menos de lo previsto; un motor acelerado se gasta y gasta la bomba.",
        (
            "Busque agua que se escape entre el tanque y la bomba.",
            "Revise las vueltas del motor.",
            "Anótelo para servicio.",
        ),
    ),
    "leak": Words(
        "Baja el agua sin bombear",
        "El agua baja aunque ninguna bomba toma: una fuga, un drenaje abierto o una manguera que hace sifón.",
        "El tanque se vacía solo.",
        (
            "Mire debajo y alrededor del equipo si corre agua.",
            "Revise drenajes, válvula de salida, conexiones y mangueras; ¿hay una pistola abierta o un sifón?",
            "Cierre la válvula de salida cuando todas las bombas estén paradas.",
            "¿Está botando agua a propósito? Dígalo en la pantalla.",
        ),
    ),
    "tow-heavy": Words(
        "Agua de más para remolcar",
        "Hay más agua a bordo que el límite para remolcar.",
        "El equipo pesa más de lo que aguantan llantas, frenos y enganche, y el agua se mueve.",
        (
            "Pare donde sea seguro.",
            "Bote agua hasta la marca de remolque, donde pueda correr.",
            "Siga cuando el agua esté bajo la marca.",
        ),
        {
            "packing up": Variant(
                "Están recogiendo con más agua a bordo que el límite para remolcar.",
                (
                    "Cierre la llave, y gaste el agua o bótela donde pueda correr.",
                    "Salga cuando el agua esté bajo la marca de remolque.",
                ),
            ),
            "moving": Variant("El equipo se mueve con más agua a bordo que el límite para remolcar."),
        },
    ),
    "freeze": Words(
        "Cerca de congelarse",
        "El agua o el aire está cerca de congelarse.",
        "El hielo revienta bombas, válvulas, pistolas y mangueras, y el suelo mojado se vuelve hielo.",
        (
            "Cuide dónde pisa y dónde cae el agua.",
            "Al terminar, pare los motores y vacíe tanque, bombas, mangueras y pistolas.",
            "Proteja las bombas con los pasos de invierno del fabricante.",
            "Nunca arranque una bomba que pueda tener hielo.",
        ),
        {
            "water": Variant("El agua del tanque está cerca de congelarse."),
            "air": Variant("El aire está cerca de congelarse."),
        },
    ),
    "journal": Words(
        "No se guarda el registro",
        "No se puede escribir el registro: disco lleno, gastado o protegido contra escritura.",
        "Los avisos funcionan como siempre, pero lo de ahora faltará en el registro.",
        (
            "Siga trabajando.",
            "Avise hoy al dueño: hay que liberar espacio en la computadora del equipo o cambiar su tarjeta.",
        ),
    ),
}
