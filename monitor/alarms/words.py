"""What people read about each alarm, ready for pages, guide and record."""

from collections.abc import Iterable
from typing import Any

from monitor.alarms import words_en, words_es
from monitor.alarms.catalogue import ALARMS, AlarmName
from monitor.alarms.refusals import Language
from monitor.alarms.wording import Variant, Words

TABLES: dict[Language, dict[AlarmName, Words]] = {"en": words_en.ALARMS, "es": words_es.ALARMS}
CAUTIONS: dict[Language, dict[str, str]] = {"en": words_en.CAUTIONS, "es": words_es.CAUTIONS}


def words(language: Language) -> dict[str, dict[str, Any]]:
    """All alarms in one language, as JSON serves them, by name.

    Each has title, cause, consequence, do, steps, cautions and variants; `do` is `steps` as one text. `variants` has,
    for each variant of the cause (the `variant` of a standing alarm), the cause, do and steps to show instead.
    """
    return {name: _entry(name, said, CAUTIONS[language]) for name, said in TABLES[language].items()}


def told(name: AlarmName, language: Language, variant: str = "") -> str:
    """What the crew is told, in one line for the record: the title, and what to do."""
    said = TABLES[language][name]
    steps = said.variants.get(variant, Variant("")).do or said.do
    return f"{said.title}. {_text(steps)}"


def _entry(name: AlarmName, said: Words, cautions: dict[str, str]) -> dict[str, Any]:
    return {
        "title": said.title,
        "cause": said.cause,
        "consequence": said.consequence,
        **_steps(said.do),
        "cautions": [cautions[key] for key in ALARMS[name].cautions],
        "variants": {
            key: {"cause": variant.cause, **_steps(variant.do or said.do)} for key, variant in said.variants.items()
        },
    }


def _steps(steps: tuple[str, ...]) -> dict[str, Any]:
    return {"do": _text(steps), "steps": list(steps)}


def _text(steps: Iterable[str]) -> str:
    return " ".join(steps)
