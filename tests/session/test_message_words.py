"""Every alert has its sentence, and every sentence belongs to an alert."""

from __future__ import annotations

from string import Formatter

import pytest

from wetside.domain.messages import alert
from wetside.domain.planning.bottles import STOPPING, WANTS_REASON
from wetside.domain.planning.setup import Units
from wetside.present.message_words import in_words
from wetside.present.sentences import word_table

TEMPLATES = word_table("alerts")


def test_alerts_that_bar_an_evening_or_want_a_reason_have_sentences() -> None:
    codes = {key.partition(", ")[0] for key in TEMPLATES}
    assert codes > {*STOPPING, *WANTS_REASON}


@pytest.mark.parametrize("key", TEMPLATES)
def test_a_missing_value_is_an_error_and_not_an_empty_place(key: str) -> None:
    code, _, variant = key.partition(", ")
    needed = [name for _, name, _, _ in Formatter().parse(TEMPLATES[key]) if name]
    empty = alert(code, variant)
    if needed:
        with pytest.raises(KeyError):
            in_words(empty)
    else:
        assert in_words(empty) == TEMPLATES[key]


def test_values_are_worded_in_the_person_s_units() -> None:
    short = alert("too-little", bottle="B", batch=1, needed_ml=600.0, have_ml=500.0, short_ml=100.0)
    assert in_words(short) == "B: batch 1 needs 600 ml, the bottle has 500 ml: 100 ml short."
    assert "20.3 US fl oz" in in_words(short, Units("°F", "US fl oz"))
    assert "122.0 °F" in in_words(alert("hot-bath", bath_c=50.0), Units("°F"))
