"""Both languages complete, each in its own words, and what they say right for the machine."""

import json
import re
from itertools import chain
from typing import get_args

import pytest

from monitor.alarms.catalogue import ALARMS
from monitor.alarms.refusals import Reason, Refused
from monitor.alarms.words import CAUTIONS, TABLES, told, words
from monitor.balance.trust import Reason as Doubt

LANGUAGES = ["en", "es"]
EVERY = [(language, name) for language in LANGUAGES for name in ALARMS]
# words that are spelled alike in both languages, and are at home in both
ALIKE = {"a", "balance", "cable", "compare", "factor", "hospital", "k", "no", "note", "sensor", "total"}


def sentences(said):
    variants = chain.from_iterable((variant.cause, *variant.do) for variant in said.variants.values())
    return [said.title, said.cause, said.consequence, *said.do, *variants]


def spelled(language):
    texts = chain(CAUTIONS[language].values(), *(sentences(said) for said in TABLES[language].values()))
    return set(re.findall(r"[^\W\d_]+", " ".join(texts).lower()))


@pytest.mark.parametrize("language", LANGUAGES)
def test_every_alarm_has_words(language):
    assert set(TABLES[language]) == set(ALARMS)


@pytest.mark.parametrize(("language", "name"), EVERY)
def test_words_are_whole_sentences_and_the_title_reads_at_three_metres(language, name):
    said = TABLES[language][name]
    assert 0 < len(said.title) <= 28
    assert said.title[-1] not in ".!"
    assert said.do
    for text in sentences(said)[1:]:
        assert text[-1] in ".?", text
        assert text[0].isupper() or text[0] == "¿", text
        assert text == " ".join(text.split()), text


def test_titles_differ():
    for language in LANGUAGES:
        assert len({said.title for said in TABLES[language].values()}) == len(ALARMS)


def test_both_languages_say_the_same_number_of_things():
    for name in ALARMS:
        english, spanish = TABLES["en"][name], TABLES["es"][name]
        assert len(english.do) == len(spanish.do), name
        assert {key: len(v.do) for key, v in english.variants.items()} == {
            key: len(v.do) for key, v in spanish.variants.items()
        }, name
    assert set(CAUTIONS["en"]) == set(CAUTIONS["es"])


def test_no_english_is_left_in_the_spanish():
    assert spelled("en") & spelled("es") <= ALIKE


def test_every_caution_is_shown_somewhere_and_every_one_shown_exists():
    assert set(chain.from_iterable(alarm.cautions for alarm in ALARMS.values())) == set(CAUTIONS["en"])


@pytest.mark.parametrize("name", ["dry", "dry-soon"])
def test_before_the_tank_is_dry_the_triggers_go_first(name):
    steps = [step.lower() for step in TABLES["en"][name].do]
    assert steps[0].startswith("let go of the triggers")
    assert steps[1].startswith("stop the engines")
    assert steps[2].startswith("squeeze the triggers to drop the pressure")


def test_after_dry_the_maker_says_how_to_restart():
    said = TABLES["en"]["dry"]
    for steps in (said.do, said.variants["suction"].do):
        assert "maker's priming steps" in steps[-1]


def test_at_pump_starved_the_pump_comes_first_and_the_gauge_last():
    said = TABLES["en"]["pump-starved"]
    for variant in ({"do": said.do}, *(v._asdict() for v in said.variants.values() if v.do)):
        assert variant["do"][0].startswith("Stop this pump first")
        assert "outlet valve" in variant["do"][2]
    assert "gauge last" in said.do[-1]
    assert "speaks for the pump" in said.variants["level trembles"].cause
    assert not said.variants["level trembles"].do  # as always: pump, valve, strainer, air, gauge
    repeats = said.variants["level repeats"]
    assert "speaks for a stuck gauge" in repeats.cause
    assert "stop it first" in repeats.cause


@pytest.mark.parametrize("name", [name for name, alarm in ALARMS.items() if alarm.kind == "pump"])
def test_who_works_on_a_pump_is_told_to_stop_it_and_take_the_pressure_off(name):
    assert {"engine-off", "hot-parts", "injection", "makers"} <= set(ALARMS[name].cautions)


def test_dangers_are_named_where_they_are_met():
    assert "scalding" in ALARMS["bypass-hot"].cautions
    assert {"tow", "driver"} <= set(ALARMS["tow-heavy"].cautions)
    assert {"carbon-monoxide", "chemicals"} <= set(ALARMS["freeze"].cautions)
    assert "backflow" in ALARMS["overfill"].cautions
    assert "backflow" in ALARMS["supply-lost"].cautions


def test_who_is_sent_to_look_into_the_tank_is_told_never_to_enter_it():
    for name, said in TABLES["en"].items():
        if re.search(r"[Ll]ook [^.]*(into|water in|in at) the tank", " ".join(sentences(said))):
            assert "tank" in ALARMS[name].cautions, name


def test_each_doubt_about_a_signal_has_its_own_words():
    doubts = set(get_args(Doubt)) - {""}
    for name in ("level-signal", "supply-signal"):
        assert set(TABLES["en"][name].variants) == doubts


@pytest.mark.parametrize("language", LANGUAGES)
def test_words_are_served_as_json(language):
    served = words(language)
    assert json.loads(json.dumps(served)) == served
    for name, entry in served.items():
        assert list(entry) == ["title", "cause", "consequence", "do", "steps", "cautions", "variants"]
        assert entry["do"] == " ".join(entry["steps"])
        assert len(entry["cautions"]) == len(ALARMS[name].cautions)
    trembles = served["pump-starved"]["variants"]["level trembles"]
    assert trembles["steps"] == served["pump-starved"]["steps"]


def test_told_is_the_title_and_what_to_do():
    assert told("overfill", "en").startswith("Tank over its full mark. Shut the tap. ")
    assert told("dry-soon", "es").startswith("Casi seco: suelte gatillos. Suelte los gatillos. Pare los motores")
    assert "gauge is stuck" in told("pump-starved", "en", "level repeats")
    assert told("pump-starved", "en", "a variant nobody wrote") == told("pump-starved", "en")


@pytest.mark.parametrize("reason", get_args(Reason))
def test_a_refusal_says_what_why_and_what_to_do_in_both_languages(reason):
    refused = Refused(reason, "leak", "Rides", asked_s=36_000.0, most_s=28_800.0)
    of_no_alarm = ("no volume", "job runs", "no job", "no service", "not understood")
    for language in LANGUAGES:
        assert reason in of_no_alarm or "leak" in refused.error(language)
        assert not re.search(r"[{}]", refused.error(language) + refused.do(language))
        assert refused.do(language).endswith(".")
    assert refused.error("en") != refused.error("es")
    assert refused.do("en") != refused.do("es")
    assert str(refused) == f"{refused.error('en')} {refused.do('en')}"
