"""The codec's laws: what is written is what is read, and nothing else is read at all."""

from __future__ import annotations

import json
import subprocess
import sys
from typing import Any, Literal, get_args, get_type_hints

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from msgspec import Struct
from msgspec.structs import fields, replace
from tests.factories import bare_plan, session_began
from tests.shipped import SETUPS, shipped_plan, shipped_profile

from wetside.domain.messages import Message, as_written, message
from wetside.domain.planning import plan as plan_types
from wetside.domain.planning import setup as setup_types
from wetside.domain.planning.plan import Plan, PlannedCaution, PlannedReading, PlannedStep, PlannedTick, WaterPlan
from wetside.domain.planning.setup import Bottle, Roll, Setup, Tank
from wetside.domain.profile import model
from wetside.domain.profile.model import Kind, Yield
from wetside.domain.session import events
from wetside.domain.session.events import Event, Look, NoteAdded, ReadingTaken, SessionBegan, StepEnded, TickMade
from wetside.domain.shelf.mixing import KitRequest, mixing_plan
from wetside.errors import JournalUnusable
from wetside.export.session_log import CLOSED, MISSED
from wetside.present.developer_words import end_words
from wetside.present.film_faults import faults
from wetside.present.message_words import in_words, note_text
from wetside.present.mishap_text import mishap_words
from wetside.present.mixing_sheet import guide_lines
from wetside.present.plan_json import plan_in_words, warnings_json
from wetside.present.tempering_text import bath_water, plan_answers
from wetside.storage.codec import Codec, encode, kind_of, session_codec

decode = session_codec().decode

FINITE = st.floats(allow_nan=False, allow_infinity=False)
for plain, strategy in ((float, FINITE), (str, st.text(max_size=12)), (int, st.integers())):
    st.register_type_strategy(plain, strategy)


def built(cls: type[Any]) -> st.SearchStrategy[Any]:
    """Values of a struct, each field from its type."""
    return st.builds(cls, **{name: st.from_type(hint) for name, hint in get_type_hints(cls).items()})


for module in (events, plan_types, setup_types, model):
    for found in vars(module).values():
        if isinstance(found, type) and issubclass(found, Struct):
            st.register_type_strategy(found, built)

# a message may hold others, drawn to one depth
texts, values = st.text(max_size=12), FINITE | st.text(max_size=12)
inner = st.builds(Message, texts, st.lists(st.tuples(texts, values), max_size=2).map(tuple))
nested = values | inner | st.lists(values | inner, max_size=2).map(tuple)
st.register_type_strategy(
    Message, st.builds(Message, texts, st.lists(st.tuples(texts, nested), max_size=2).map(tuple))
)

# every kind but the first draws its fields from the type hints alone; the first draws a plan, which is large,
# so its rows are kept short
flat = st.one_of(*(st.from_type(cls) for cls in get_args(Event) if cls is not SessionBegan))


def short(cls: type[Any], **given: st.SearchStrategy[Any]) -> st.SearchStrategy[Any]:
    """Values of a struct whose optional fields have their defaults, unless given."""
    hints = get_type_hints(cls)
    needed = (part.name for part in fields(cls) if part.required)
    return st.builds(cls, **{name: st.from_type(hints[name]) for name in needed if name not in given}, **given)


steps = short(
    PlannedStep,
    cautions=st.lists(st.from_type(PlannedCaution), max_size=1).map(tuple),
    ticks=st.lists(st.from_type(PlannedTick), max_size=2).map(tuple),
    readings=st.lists(st.from_type(PlannedReading), max_size=1).map(tuple),
    kind=st.sampled_from(Kind),
    table=st.lists(st.tuples(FINITE, FINITE), max_size=2).map(tuple),
    planned_s=st.none() | FINITE,
)
setups = short(
    Setup,
    rolls=st.lists(st.from_type(Roll), max_size=2).map(tuple),
    tank=st.from_type(Tank),
    bottles=st.just(()),
)
plans = short(
    Plan,
    setup=setups,
    steps=st.lists(steps, max_size=2).map(tuple),
    water=st.none() | st.from_type(WaterPlan),
    tempering=st.none(),
    batches=st.just(()),
    timeline=st.just(()),
)
began = short(SessionBegan, plan=plans)


@settings(max_examples=150, deadline=None)
@given(flat)
def test_every_event_comes_back_equal(event: Event) -> None:
    assert decode(*encode(event)) == event


@settings(max_examples=30, deadline=None)
@given(began)
def test_the_first_event_comes_back_equal_with_its_plan(event: SessionBegan) -> None:
    kind, version, data = encode(event)
    back = decode(kind, version, data)
    assert back == event
    assert encode(back) == (kind, version, data)
    assert data.isascii()
    assert "\n" not in data


@pytest.mark.parametrize("name", SETUPS)
def test_the_plans_of_the_shipped_evenings_come_back_equal(name: str, began_event: SessionBegan) -> None:
    plan = shipped_plan(name)
    event = replace(began_event, plan=plan, profile_text=shipped_profile(plan.profile_id).text)
    assert decode(*encode(event)) == event


@pytest.fixture
def began_event() -> SessionBegan:
    """A first event with a plan of two steps."""
    developer = PlannedStep(
        id="b1.developer",
        of="developer",
        title="Developer",
        stage="baths",
        kind=Kind.BATH,
        instruction="Pour the developer in.",
        safe_way_out="Pour it back.",
        source="sheet",
    )
    lid = PlannedTick("b1.stop/lid", "Tank lid on", "b1.stop", "start", killer=True)
    stop = replace(developer, id="b1.stop", of="stop", title="Stop", ticks=(lid,))
    plan = bare_plan(stages=(("baths", "Baths"),), steps=(developer, stop))
    return session_began(plan, "abc", offset_s=3600, boot_s=10.0)


def in_words_of_old(data: str) -> str:
    """A first event as versions before 15 kept it: with texts where a step has messages now."""
    fields = json.loads(data)
    for step in fields["plan"]["steps"]:
        del step["about"]
        step["in_words"] = ""
    return json.dumps(fields)


def test_each_kind_is_written_in_its_present_version() -> None:
    kinds = {kind_of(cls) for cls in get_args(Event)}
    changed = {kind: now for kind in kinds if (now := session_codec().version(kind)) > 1}
    assert changed == {
        "session_began": 17,
        "reading_taken": 2,
        "note_added": 3,
        "mishap_happened": 2,
        "gate_overridden": 3,
        "cue_missed": 3,
        "session_closed": 2,
        "end_moved": 3,
    }


def test_a_whole_number_is_kept_as_a_number() -> None:
    kind, version, data = encode(TickMade(3, "lid"))
    assert json.loads(data)["at"] == 3.0
    assert '"at":3.0' in data
    assert type(decode(kind, version, data).at) is float


def _read(change: dict[str, Any], drop: str = "") -> Event:
    kind, version, data = encode(StepEnded(5.0, "developer", early_s=1.0, keys_ignored=2))
    fields = {**json.loads(data), **change}
    fields.pop(drop, None)
    return decode(kind, version, json.dumps(fields), "session/abc 7")


@pytest.mark.parametrize(
    ("change", "said"),
    [
        ({"more": 1}, "the entry has an unknown key 'more'"),
        ({"at": "5"}, "is damaged: the value of at cannot be right;"),
        ({"at": True}, "is damaged: the value of at cannot be right;"),
        ({"at": None}, "is damaged: the value of at cannot be right;"),
        ({"step": 5}, "is damaged: the value of step cannot be right;"),
        ({"keys_ignored": 2.0}, "is damaged: the value of keys_ignored cannot be right;"),
        ({"keys_ignored": False}, "is damaged: the value of keys_ignored cannot be right;"),
        ({"kind": "tick\x1bmade"}, "is damaged: the value of kind cannot be right;"),
        ({"at": 10**400}, "is damaged: the value of at cannot be right;"),
    ],
)
def test_a_field_of_the_wrong_shape_is_refused_with_its_place(change: dict[str, Any], said: str) -> None:
    with pytest.raises(JournalUnusable) as refused:
        _read(change)
    assert said in str(refused.value)
    assert "session/abc 7" in str(refused.value)


def test_a_missing_field_is_refused_although_it_has_a_default() -> None:
    with pytest.raises(JournalUnusable, match="lacks early_s"):
        _read({}, drop="early_s")


def test_an_entry_that_names_a_key_twice_is_refused() -> None:
    kind, version, data = encode(StepEnded(5.0, "developer"))
    with pytest.raises(JournalUnusable, match="names a key twice"):
        decode(kind, version, data.replace('"at":', '"at":2.0,"at":', 1))


def test_a_garbled_entry_is_told_in_plain_words() -> None:
    with pytest.raises(JournalUnusable) as refused:
        decode("step_ended", 1, "{", "session/abc 7")
    assert "session/abc 7" in str(refused.value)
    assert "is damaged: its text is cut short or garbled; bring back a copy" in str(refused.value)


@pytest.mark.parametrize(
    "data", ["", "[]", "null", "{", '{"at":NaN}', '{"at":1,"at":1}', "[" * 100_000, '{"at":' + "9" * 5000 + "}"]
)
def test_text_that_is_not_an_entry_is_refused(data: str) -> None:
    with pytest.raises(JournalUnusable):
        decode("hold_began", 1, data)


@pytest.mark.parametrize("value", [float("nan"), float("inf"), -float("inf")])
def test_nan_cannot_be_written(value: float) -> None:
    with pytest.raises(JournalUnusable, match="temperature_c is not a finite number"):
        encode(ReadingTaken(0.0, "developer", "developer", value, "?"))


def test_a_fault_inside_nested_values_names_its_place(began_event: SessionBegan) -> None:
    kind, version, data = encode(began_event)
    fields = json.loads(data)
    fields["plan"]["steps"][1]["ticks"][0]["colour"] = "red"
    with pytest.raises(JournalUnusable, match=r"plan\.steps\[1\]\.ticks\[0\] has an unknown key 'colour'"):
        decode(kind, version, json.dumps(fields))
    fields = json.loads(data)
    fields["plan"]["steps"][0]["kind"] = "swim"
    with pytest.raises(JournalUnusable, match=r"the value of plan\.steps\[0\]\.kind cannot be right"):
        decode(kind, version, json.dumps(fields))


def test_a_plan_of_the_first_version_is_shown_in_millilitres(began_event: SessionBegan) -> None:
    kind, version, data = encode(began_event)
    fields = json.loads(data)
    del fields["plan"]["volume_unit"]
    old = json.dumps(fields)
    lifted = decode(kind, 1, in_words_of_old(old))
    assert isinstance(lifted, SessionBegan)
    assert lifted.plan == replace(began_event.plan, volume_unit="ml", setup=lifted.plan.setup)
    with pytest.raises(JournalUnusable, match="plan lacks volume_unit"):
        decode(kind, version, old)


def test_before_version_five_the_shelf_counted_rolls_of_80_square_inches(began_event: SessionBegan) -> None:
    """516.128 cm² a roll before, 572 cm² after; what a person typed of a bottle that is on no shelf stays."""
    bottles = (
        Bottle("developer", "One", 500.0, used_rolls=3.0, shelf_id="1-developer"),
        Bottle("fixer", "Two", 500.0, used_rolls=3.0),
    )
    plan = replace(began_event.plan, setup=replace(began_event.plan.setup, bottles=bottles))
    kind, _, data = encode(replace(began_event, plan=plan))
    lifted = decode(kind, 4, in_words_of_old(data))
    assert isinstance(lifted, SessionBegan)
    shelf, typed = lifted.plan.setup.bottles
    assert shelf.used_rolls * 572.0 == pytest.approx(3.0 * 516.128, rel=1e-6)
    assert typed.used_rolls == 3.0


def test_before_version_eight_film_was_loaded_once_the_bottles_were_warm(began_event: SessionBegan) -> None:
    kind, version, data = encode(began_event)
    fields = json.loads(data)
    del fields["plan"]["loading"], fields["plan"]["setup"]["loading"]
    old = json.dumps(fields)
    lifted = decode(kind, 7, in_words_of_old(old))
    assert isinstance(lifted, SessionBegan)
    assert (lifted.plan.loading, lifted.plan.setup.loading) == (None, "after warming")
    with pytest.raises(JournalUnusable, match="lacks loading"):
        decode(kind, version, old)


def test_before_version_eleven_a_plan_counted_no_price_and_forecast_one_moment(began_event: SessionBegan) -> None:
    kind, version, data = encode(began_event)
    fields = json.loads(data)
    del fields["plan"]["cost"]
    if fields["plan"]["tempering"] is not None:
        del fields["plan"]["tempering"]["ready_span_s"]
    old = json.dumps(fields)
    lifted = decode(kind, 10, in_words_of_old(old))
    assert isinstance(lifted, SessionBegan)
    assert lifted.plan.cost is None
    assert lifted.plan.tempering is None or lifted.plan.tempering.ready_span_s is None
    with pytest.raises(JournalUnusable, match="lacks cost"):
        decode(kind, version, old)


def test_an_unknown_kind_and_a_newer_version_ask_for_an_update() -> None:
    with pytest.raises(JournalUnusable, match="update Wetside") as refused:
        decode("film_flew_away", 1, "{}", "session/abc 9")
    assert "film_flew_away" in str(refused.value)
    assert "session/abc 9" in str(refused.value)
    kind, version, data = encode(NoteAdded(0.0, "words"))
    with pytest.raises(JournalUnusable, match="reads up to version 3: update Wetside"):
        decode(kind, version + 1, data)
    with pytest.raises(JournalUnusable, match="versions begin at 1"):
        decode(kind, 0, data)


def test_hostile_text_is_kept_as_it_was_typed() -> None:
    for text in ("[red]x", "\x1b[2J", "\u202e", "=1+1", "a\nb", "\ud800", "💧"):
        event = NoteAdded(0.0, text)
        assert decode(*encode(event)) == event


class Poured(Struct, frozen=True):
    """An event of a made-up union, in its third shape."""

    at: float
    litres: float
    what: str
    kind: Literal["poured"] = "poured"


class Spilled(Struct, frozen=True):
    """Its neighbour, never changed."""

    at: float
    kind: Literal["spilled"] = "spilled"


def _named_what(data: dict[str, Any]) -> dict[str, Any]:
    return {**data, "what": "unknown"}


def _in_litres(data: dict[str, Any]) -> dict[str, Any]:
    return {**{k: v for k, v in data.items() if k != "ml"}, "litres": data["ml"] / 1000}


def test_old_versions_are_lifted_one_step_at_a_time() -> None:
    made: Codec[Poured | Spilled] = Codec((Poured, Spilled), {"poured": (_named_what, _in_litres)})
    now = Poured(1.0, 0.5, "unknown")
    assert made.decode("poured", 1, '{"at":1,"ml":500,"kind":"poured"}') == now
    assert made.decode("poured", 2, '{"at":1,"ml":500,"what":"unknown","kind":"poured"}') == now
    assert made.decode(*made.encode(now)) == now
    assert made.decode(*made.encode(Spilled(2.0))) == Spilled(2.0)
    with pytest.raises(JournalUnusable, match="shape of version 2"):
        made.decode("poured", 1, '{"at":1,"kind":"poured"}')


def test_an_upcaster_of_an_unknown_kind_is_refused() -> None:
    with pytest.raises(ValueError, match="spilled"):
        Codec((Poured,), {"spilled": (_named_what,)})


def test_an_event_of_another_union_is_refused() -> None:
    made: Codec[Any] = Codec((Poured,))
    with pytest.raises(JournalUnusable, match="does not belong"):
        made.encode(Spilled(1.0))


def test_a_value_inside_a_plan_of_the_wrong_type_is_not_written(began_event: SessionBegan) -> None:
    wrong = replace(began_event, plan=replace(began_event.plan, total_s="long"))
    with pytest.raises(JournalUnusable, match=r"the value of plan\.total_s cannot be right"):
        session_codec().encode(wrong)


def test_reading_events_needs_no_pydantic_and_no_pint() -> None:
    script = """
import sys
from wetside.export.session_log import CLOSED, MISSED
from wetside.present.film_faults import faults
from wetside.present.message_words import note_text
from wetside.present.plan_json import plan_in_words, warnings_json
from wetside.present.message_words import in_words
from wetside.present.tempering_text import bath_water, plan_answers
from wetside.storage.codec import encode, session_codec
from wetside.domain.session.events import NoteAdded
session_codec().decode(*encode(NoteAdded(0.0, "words")))
print("pydantic" in sys.modules, "pint" in sys.modules)
"""
    told = subprocess.run([sys.executable, "-c", script], capture_output=True, text=True, check=True)
    assert told.stdout.split() == ["False", "False"]


JSON_VALUES = st.recursive(
    st.none() | st.booleans() | st.integers() | FINITE | st.text(max_size=4),
    lambda inner: st.lists(inner, max_size=2) | st.dictionaries(st.text(max_size=3), inner, max_size=2),
    max_leaves=4,
)


@settings(max_examples=150, deadline=None)
@given(flat, st.data())
def test_field_values_round_trip_or_are_refused(event: Event, draw: st.DataObject) -> None:
    kind, version, data = encode(event)
    fields = json.loads(data)
    fields[draw.draw(st.sampled_from([*fields, "more"]))] = draw.draw(JSON_VALUES)
    changed = json.dumps(fields)
    try:
        read = decode(kind, version, changed)
    except JournalUnusable:
        with pytest.raises(JournalUnusable, match=f'\\("{kind}"\\) is damaged: '):
            decode(kind, version, changed)
    else:
        assert json.loads(encode(read)[2]) == fields


def test_the_order_of_keys_and_spaces_are_free_to_a_reader() -> None:
    kind, version, data = encode(NoteAdded(1.5, "words", "look", 2))
    turned = dict(reversed(json.loads(data).items()))
    assert decode(kind, version, json.dumps(turned, indent=1)) == NoteAdded(1.5, "words", "look", 2)


def look_of_version_1(text: str) -> tuple[str, Look | None]:
    """What is made of a look that version 1 kept as this text."""
    data = {"at": 1.5, "text": text, "about": "look", "roll": 1, "kind": "note_added"}
    read = decode("note_added", 1, json.dumps(data))
    assert isinstance(read, NoteAdded)
    assert (read.at, read.about, read.roll) == (1.5, "look", 1)
    assert note_text(read) == text
    assert isinstance(read.text, str)
    return read.text, read.look


@pytest.mark.parametrize(
    ("text", "kept"),
    [
        ("Thin all over; edge numbers weak", ("", Look("thin-processing", "weak", "negative"))),
        ("Dark and heavy all over; edge numbers weak", ("", Look("dark-processing", "weak", "positive"))),
        ("Came out well; edge numbers normal", ("", Look("well", "normal", "negative"))),
        ("Thin all over", ("", Look("thin-processing", "", "negative"))),
        ("A hair; edge numbers fogged", ("A hair", Look("own words", "fogged", "negative"))),
        ("A hair; edge numbers good", ("A hair; edge numbers good", None)),
        ("; edge numbers weak", ("; edge numbers weak", None)),
        ("A hair", ("A hair", None)),
    ],
)
def test_a_note_on_film_that_version_1_kept_in_words_becomes_a_code_with_the_same_words(
    text: str, kept: tuple[str, Look | None]
) -> None:
    assert look_of_version_1(text) == kept


@pytest.mark.parametrize("yields", ["negative", "positive"])
def test_every_fault_that_version_1_could_keep_becomes_a_code(yields: Yield) -> None:
    for row in faults(yields):
        text, look = look_of_version_1(f"{row.words}; edge numbers weak")
        assert (text, look and look.fault, look and look.edge) == ("", row.id, "weak")


def test_a_typed_note_of_version_1_stays_as_it_is() -> None:
    data = {"at": 1.5, "text": "Thin; edge numbers weak", "about": "note", "roll": None, "kind": "note_added"}
    assert decode("note_added", 1, json.dumps(data)) == NoteAdded(1.5, "Thin; edge numbers weak")


@pytest.mark.parametrize(
    ("said", "why"),
    [("the machine slept", "asleep"), ("the guide was not there", "away"), ("it rained", as_written("it rained"))],
)
def test_the_reason_of_a_missed_call_kept_in_words_reads_the_same_as_the_code(said: str, why: Any) -> None:
    data = {"at": 9.0, "step": "x", "call": "agitate", "planned": 5.0, "why": said, "kind": "cue_missed"}
    assert decode("cue_missed", 1, json.dumps(data)) == events.CueMissed(9.0, "x", "agitate", 5.0, why)
    assert (MISSED[why] if isinstance(why, str) else in_words(why)) == said


@pytest.mark.parametrize(
    ("words", "code"),
    [("stopped by the safe way out", "safe way out"), ("found after a week", "found after a week")],
)
def test_the_reason_of_a_close_kept_in_words_reads_the_same_as_the_code(words: str, code: str) -> None:
    data = {"at": 9.0, "outcome": "abandoned", "deviations": 0, "reason": words, "kind": "session_closed"}
    assert decode("session_closed", 1, json.dumps(data)) == events.SessionClosed(9.0, "abandoned", 0, code)
    assert CLOSED.get(code, code) == words


def test_what_went_wrong_in_the_dark_kept_in_words_reads_the_same_as_the_code() -> None:
    for trouble in events.DARK_TROUBLES:
        now = NoteAdded(9.0, trouble, "dark")
        old = decode("note_added", 2, json.dumps({**json.loads(encode(now).data), "text": note_text(now)}))
        assert (old, decode(*encode(now))) == (now, now)
    typed = NoteAdded(9.0, "Light got in", "note")
    assert decode("note_added", 2, encode(typed).data) == typed


def test_a_mishap_of_old_in_words_reads_the_same(began_event: SessionBegan) -> None:
    now = events.MishapHappened(9.0, "x", "spill", "bottle", "", ())
    old = decode("mishap_happened", 1, json.dumps({**json.loads(encode(now).data), "text": "Spilt (step: X)"}))
    assert isinstance(old, events.MishapHappened)
    assert mishap_words(began_event.plan, old) == "Spilt (step: X)"
    assert decode("mishap_happened", 1, json.dumps({**json.loads(encode(now).data), "text": ""})) == now


def test_why_an_overridden_gate_was_shut_is_stored_as_a_code_and_was_once_stored_in_words(
    began_event: SessionBegan,
) -> None:
    data = {"at": 9.0, "step": "x", "what": "tick:y", "text": "Film loaded", "reason": "typed"}
    old = decode("gate_overridden", 1, json.dumps({**data, "kind": "gate_overridden"}))
    assert old == events.GateOverridden(9.0, "x", "tick:y", as_written("Film loaded"), "typed")
    assert isinstance(old, events.GateOverridden)
    assert in_words(old.why, began_event.plan.units) == "Film loaded"
    why = message("out of range", title="Developer", read_c=36.5, wanted_c=(37.5, 38.5))
    first, reason = message("first", gate=why), message("not needed tonight")
    now = events.GateOverridden(9.0, "x", "reading:developer", first, reason)
    assert decode(*encode(now)) == now
    as_then = {"text": "", "reason": "Not needed tonight"}
    assert decode("gate_overridden", 2, json.dumps({**json.loads(encode(now).data), **as_then})) == now
    assert in_words(now.why, began_event.plan.units) == "First: Developer: 36.5 °C read, 37.5 to 38.5 °C wanted."


def test_before_version_twelve_a_plan_kept_its_warm_bath_in_words_and_shows_them(
    began_event: SessionBegan,
) -> None:
    plan = shipped_plan("three-rolls")
    kind, version, data = encode(replace(began_event, plan=plan))
    fields = json.loads(data)
    tempering, water = fields["plan"]["tempering"], fields["plan"]["water"]
    assert (tempering["words"], water["words"]) == ([], [])
    del tempering["forecasts"], tempering["add"], water["too_small"]
    with pytest.raises(JournalUnusable, match="lacks too_small"):
        decode(kind, version, json.dumps(fields))
    tempering["words"], water["words"] = ["Ready in 6 min"], ["Bath: 8 l.", "Hot."]
    fields["plan"]["warnings"] = []
    old = decode(kind, 11, in_words_of_old(json.dumps(fields)))
    assert isinstance(old, SessionBegan)
    assert plan_answers(old.plan) == ("Ready in 6 min",)
    assert bath_water(old.plan) == ("Bath: 8 l.", "Hot.")
    assert plan_in_words(old.plan)["water"]["words"] == ("Bath: 8 l.", "Hot.")
    assert len(plan_in_words(plan)["tempering"]["words"]) == 4


def test_before_version_thirteen_a_plan_kept_its_warnings_in_words(began_event: SessionBegan) -> None:
    kept = [{"code": "too-little", "text": "Batch {1} needs more."}]
    fields = json.loads(encode(began_event)[2])
    fields["plan"]["warnings"] = kept
    old = decode("session_began", 12, in_words_of_old(json.dumps(fields)))
    assert isinstance(old, SessionBegan)
    assert warnings_json(old.plan) == kept
    assert decode(*encode(old)) == old


def test_before_version_fourteen_a_plan_kept_in_words_that_a_bottle_is_spent_or_suspect(
    began_event: SessionBegan,
) -> None:
    plan = shipped_plan("three-rolls")
    fields = json.loads(encode(replace(began_event, plan=plan))[2])
    for bottle in fields["plan"]["setup"]["bottles"]:
        bottle.update(spent="", suspect="")
    fields["plan"]["setup"]["bottles"][0].update(spent="It is {dead}.", suspect="2031-01-05: It fell.")
    old = decode("session_began", 13, in_words_of_old(json.dumps(fields)))
    assert isinstance(old, SessionBegan)
    first, *others = old.plan.setup.bottles
    assert (in_words(first.spent), in_words(first.suspect)) == ("It is {dead}.", "2031-01-05: It fell.")
    assert tuple(others) == plan.setup.bottles[1:]


def test_before_version_fifteen_a_plan_kept_why_a_time_is_what_it_is_and_how_a_tank_is_rotated_in_words(
    began_event: SessionBegan,
) -> None:
    plan = shipped_plan("three-rolls", agitated_by="rotation")
    fields = json.loads(encode(replace(began_event, plan=plan))[2])
    for step, published in zip(fields["plan"]["steps"], plan_in_words(plan)["steps"], strict=True):
        del step["about"]
        step["in_words"] = published["in_words"]
        if step["agitation"] is not None:
            step["agitation"]["words"] = published["agitation"]["words"]
    old = decode("session_began", 14, json.dumps(fields))
    assert isinstance(old, SessionBegan)
    assert plan_in_words(old.plan) == plan_in_words(plan)
    said = "3:30 on the sheet → 3:47: 4 rolls per litre before +8 %"
    assert old.plan.step("b1.developer").about == as_written(said)
    assert old.plan.step("b1.developer").agitation == plan.step("b1.developer").agitation


def test_before_version_sixteen_the_texts_of_an_evening_that_mixes_a_kit_were_kept_in_words(
    began_event: SessionBegan,
) -> None:
    plan = mixing_plan(shipped_profile("two-bath"), KitRequest("Spring", (("developer", 500.0),), "2031-03-01"))
    fields = json.loads(encode(replace(began_event, plan=plan))[2])
    for step, planned in zip(fields["plan"]["steps"], plan.steps, strict=True):
        step.update(instruction=in_words(planned.instruction), safe_way_out=in_words(planned.safe_way_out))
        for tick, planned_tick in zip(step["ticks"], planned.ticks, strict=True):
            tick["text"] = in_words(planned_tick.text)
        for caution, of in zip(step["cautions"], planned.cautions, strict=True):
            caution.update(
                hazard=in_words(of.hazard), consequence=in_words(of.consequence), avoid=in_words(of.avoid)
            )
    old = decode("session_began", 15, json.dumps(fields))
    assert isinstance(old, SessionBegan)
    assert old.plan.steps[0].instruction == as_written(in_words(plan.steps[0].instruction))
    assert guide_lines(old.plan) == guide_lines(plan)
    assert plan_in_words(old.plan) == plan_in_words(plan)


def test_why_an_end_moved_is_kept_as_the_reading_and_was_once_kept_in_words() -> None:
    plan = shipped_plan("three-rolls")
    data = {"at": 9.0, "step": "b1.developer", "old_s": 210.0, "new_s": 238.0, "uncertainty_s": 9.0}
    old = decode("end_moved", 1, json.dumps({**data, "why": "Read cooler", "kind": "end_moved"}))
    assert old == events.EndMoved(9.0, "b1.developer", 210.0, 238.0, 9.0, as_written("Read cooler"))
    assert isinstance(old, events.EndMoved)
    assert end_words(plan, old) == "Read cooler"
    stays = message("no developer time", at_c=45.0, served=(29.4, 38.9, 0.15))
    for by in (events.EndReading(37.9, at_s=65.0, left_table_at_s=90.0), events.EndReading(45.0, stays=stays)):
        now = replace(old, why=None, by=by)
        assert decode(*encode(now)) == now
    assert end_words(plan, now).startswith("The end stays. No developer time for 45.0 °C")


@pytest.mark.parametrize("space", ["", " "])
def test_an_endlessly_nested_message_is_reported_as_damage(space: str) -> None:
    read: set[str] = set()
    for depth in (1, 200, *range(320, 345), 1_000, 30_000):
        why = '{"code":"first","values":[["gate",' * depth + '"x"' + "]]}" * depth
        given = f'{{"at":1.0,{space}"step":"x","what":"y","text":"","reason":"z"'
        data = f'{given},"why":{why},"kind":"gate_overridden"}}'
        try:
            read.add(decode("gate_overridden", 2, data).kind)
        except JournalUnusable as problem:
            read.add("damaged" if "is damaged" in str(problem) else str(problem))
    assert read == {"gate_overridden", "damaged"}
