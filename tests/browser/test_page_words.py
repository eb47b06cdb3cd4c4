"""Every word the page uses exists in both languages, is translated, and has the same places to fill in."""

import json
import re
from typing import get_args

from stub_server import DASHBOARDS

from monitor.notices.permit import Why

GROUPS = (
    "page|head|time|top|picture|day|pump|tap|advice|alarm|act|"
    "soap|quiet|packing|place|stands|more|silence|towing|permit|trouble|why"
)
KEY = re.compile(rf'"((?:{GROUPS})\.[a-z_0-9-]+)"')
MADE_UP = re.compile(r"`([a-z]+\.[a-z_]*)\$\{")
# the same in both languages, and rightly so
ALIKE = {
    "day.at","time.s", "time.min", "time.h", "time.h_min", "time.unit_min", "picture.minutes", "alarm.at",
}


def words(language: str) -> dict[str, str]:
    return json.loads((DASHBOARDS / "words" / f"{language}.json").read_text(encoding="utf-8"))


def scripts() -> str:
    files = sorted([*(DASHBOARDS / "crew").glob("*.js"), *(DASHBOARDS / "shared").glob("*.js")])
    return "\n".join(file.read_text(encoding="utf-8") for file in files)


def places(text: str) -> list[str]:
    return sorted(re.findall(r"\{(\w+)\}", text))


def test_both_languages_have_the_same_words_with_the_same_places() -> None:
    english, spanish = words("en"), words("es")
    assert list(english) == list(spanish)
    for key, text in english.items():
        assert text.strip()
        assert spanish[key].strip()
        assert places(text) == places(spanish[key]), key


def test_every_word_is_translated() -> None:
    english, spanish = words("en"), words("es")
    assert {key for key in english if english[key] == spanish[key]} == ALIKE


def test_every_key_in_the_scripts_exists() -> None:
    used = set(KEY.findall(scripts()))
    assert used
    assert used <= set(words("en")), f"without words: {used - set(words('en'))}"


def test_every_word_is_used() -> None:
    text = scripts()
    used, prefixes = set(KEY.findall(text)), tuple(set(MADE_UP.findall(text)))
    unused = {key for key in words("en") if key not in used and not key.startswith(prefixes)}
    assert not unused


def test_a_key_put_together_at_run_time_has_all_its_words() -> None:
    have = words("en")
    made = {
        "head": ("falling", "holding", "rising"),
        "pump": ("draws", "bypass", "off", "unknown"),
        "tap": ("flowing", "none", "closed", "unknown", "absent"),
        "alarm": ("critical", "high", "medium", "low"),
        "act": ("rinsing", "soaping"),
        "permit": [f"why_{why}" for why in get_args(Why)],
        "trouble": ("feed", "feed_do", "journal", "journal_do", "notices", "notices_do", "horn", "horn_do"),
        "day": ("earlier", "later", "closer", "wider"),
        "soap": ("clear", "clear_in", "clear_held", "soap", "soap_in", "soap_held"),
    }
    missing = [f"{group}.{name}" for group, names in made.items() for name in names if f"{group}.{name}" not in have]
    assert not missing


def test_no_words_stand_in_the_scripts_themselves() -> None:
    """A text of two words or more belongs into the word files."""
    loose = re.findall(r'el\("[^"]+", \{[^}]*\}, "([A-Za-zÁ-ú]+ [^"]+)"', scripts())
    assert loose == []
