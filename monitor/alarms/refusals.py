"""What may not be done to an alarm, said in both languages: what happened, why, and what to do instead."""

from typing import Literal

Language = Literal["en", "es"]
Reason = Literal[
    "critical", "no end", "too long", "no such alarm", "no such subject", "no volume", "calibration",
    "job runs", "no job", "no service", "not understood",
]  # fmt: skip

_SAID: dict[Language, dict[Reason, tuple[str, str]]] = {
    "en": {
        "critical": (
            "“{alarm}” was left standing: it is critical, and a critical alarm is never put aside.",
            "Acknowledge it to stop the sound, and do what it says; it goes when its cause is gone."
            " If it is wrong, mend the signal it rests on.",
        ),
        "no end": (
            "“{alarm}” was not shelved: no time was given after which it comes back.",
            "Say for how many minutes, more than 0.",
        ),
        "too long": (
            "“{alarm}” was not shelved: {asked} min is longer than the {most} min it may stay away.",
            "Shelve it for {most} min at most; the owner can take it out of service while it is being mended.",
        ),
        "no volume": (
            "Nothing was noted: how much water stands in the tank was not said.",
            "Say the volume you read on the tank.",
        ),
        "job runs": ("No job was started: one is under way.", "Finish that one first."),
        "no service": ("Nothing was noted: the rig file has no such service.", "Name one of its [[service]] tables."),
        "not understood": (
            "Nothing was noted: no such pump, or an amount is missing.",
            "Name a pump of the rig file, and say the amount, 0 or more.",
        ),
        "no job": ("No job was finished: none is under way.", "Start one when the work begins."),
        "calibration": (
            "Nothing was done: this step of a calibration can't be taken now ({alarm}).",
            "Look at the owner's page or `holdwater calibrate` for what runs and what it waits for.",
        ),
        "no such alarm": (
            "Nothing was done: there is no alarm called “{alarm}”.",
            "Use a name from the list of alarms.",
        ),
        "no such subject": (
            "Nothing was done: “{alarm}” is not watched for “{subject}”.",
            "Use a pump, signal or node of the rig file, or leave it out to mean all of them.",
        ),
    },
    "es": {
        "critical": (
            "“{alarm}” sigue en pie: es crítica, y una alarma crítica nunca se aparta.",
            "Reconózcala para callar el sonido y haga lo que dice; se va cuando se va su causa."
            " Si es falsa, arregle la señal en que se apoya.",
        ),
        "no end": (
            "“{alarm}” no se apartó: no se dio un plazo para que vuelva.",
            "Diga cuántos minutos, más de 0.",
        ),
        "too long": (
            "“{alarm}” no se apartó: {asked} min es más que los {most} min que puede faltar.",
            "Apártela {most} min como máximo; el dueño puede ponerla fuera de servicio mientras se arregla.",
        ),
        "no volume": (
            "No se anotó nada: no se dijo cuánta agua hay en el tanque.",
            "Diga el volumen que lee en el tanque.",
        ),
        "job runs": ("No se empezó ningún trabajo: hay uno en marcha.", "Termine ese primero."),
        "no service": (
            "No se anotó nada: el archivo del equipo no tiene ese servicio.",
            "Nombre uno de sus [[service]].",
        ),
        "not understood": (
            "No se anotó nada: no hay tal bomba, o falta una cantidad.",
            "Nombre una bomba del archivo del equipo y diga la cantidad, 0 o más.",
        ),
        "no job": ("No se terminó ningún trabajo: no hay ninguno en marcha.", "Empiece uno cuando empiece la faena."),
        "calibration": (
            "No se hizo nada: este paso de una calibración no se puede dar ahora ({alarm}).",
            "Mire en la página del dueño o con `holdwater calibrate` qué está en marcha y qué espera.",
        ),
        "no such alarm": (
            "No se hizo nada: no hay ninguna alarma llamada “{alarm}”.",
            "Use un nombre de la lista de alarmas.",
        ),
        "no such subject": (
            "No se hizo nada: “{alarm}” no se vigila para “{subject}”.",
            "Use una bomba, señal o nodo del archivo del equipo, o no nombre ninguno para decir todos.",
        ),
    },
}


class Refused(ValueError):
    """An act on an alarm that is not allowed. `error` says what and why, `do` what to do instead."""

    def __init__(self, reason: Reason, alarm: str, subject: str = "", asked_s: float = 0.0, most_s: float = 0.0):
        self.reason = reason
        self.details = {
            "alarm": alarm,
            "subject": subject,
            "asked": f"{asked_s / 60:.0f}",
            "most": f"{most_s / 60:.0f}",
        }
        super().__init__(f"{self.error()} {self.do()}")

    def error(self, language: Language = "en") -> str:
        return _SAID[language][self.reason][0].format(**self.details)

    def do(self, language: Language = "en") -> str:
        return _SAID[language][self.reason][1].format(**self.details)
