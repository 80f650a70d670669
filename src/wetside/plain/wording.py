"""Words a session as plain lines: a whole step, and what has changed since the last lines.

The lines are made of the view model, the keys and an open prompt, for a screen reader or a log. Passing seconds do
not count as a change: the clock is written at intervals only (`clock_mark`).
"""

from __future__ import annotations

import re
from typing import Final

from msgspec import Struct

from wetside.domain.session.events import ReadingTaken
from wetside.present.prompts import Choice, Keys, Menu, Number, Page, Panel, Words
from wetside.present.view_model import ClockView, ReadingRow, TickRow, View
from wetside.present.wording import minutes_seconds

HOW_TO: Final = (
    "Line by line: type a line, then press ENTER.",
    "An empty line is the ENTER key. A line with s, or with a space only, is SPACE. A line with b is BACKSPACE.",
    "Where a number is wanted, type it. Where a list is open, type the number of your choice.",
    "k lists the letters of other acts (silencing: b and its number). c says the clocks. ? says everything again.",
)
FOLLOW_HOW_TO: Final = (
    "This terminal only follows: it shows each change and changes nothing.",
    "Type a line, then press ENTER: c says the clocks, ? says everything again, b leaves.",
)
DARK_TO_COME: Final = (
    "From the moment it goes dark nothing is written here, and what you type is not shown.",
    "The way out: lid on and locked, light on, then a line with s, and after it an empty line.",
)

_DIGITS: Final = re.compile(r"\d+")

# How often a clock is written, by its distance from its end or start: (up to, every), in seconds.
_CALM: Final = ((300, 30), (900, 60), (3_600, 300))
_CALMEST_S: Final = 1_800


class PlainSnapshot(Struct, frozen=True):
    """What can be written at one moment. dark_to_come: this step will be dark once it is started.

    readings: all of the session, so that one that repeats the value before it is said too. forecast: the course of
    the temperatures as lines, as of the last reading.
    """

    view: View
    keys: Keys
    message: str = ""
    panel: Panel | None = None
    trouble: str = ""
    read_only: bool = False
    dark_to_come: bool = False
    readings: tuple[ReadingTaken, ...] = ()
    forecast: tuple[str, ...] = ()


def step_lines(now: PlainSnapshot) -> tuple[str, ...]:
    """A step from its heading to its keys; cautions come before the act."""
    view = now.view
    lines = ["", _heading(view), f"{view.title} ({view.place})" if view.place else view.title]
    lines += [f"{caution.signal}: {caution.sentence}" for caution in view.cautions]
    lines.append(view.instruction)
    if view.act not in ("", view.instruction):
        lines.append(view.act)
    lines += [view.fill] if view.fill else []
    lines += [f"Remember: {line}." for line in view.remember]
    lines += DARK_TO_COME if now.dark_to_come else ()
    lines += view.facts
    lines += [clock_line(view.clock)] if view.clock is not None else ()
    lines += [f"{clock.words}." for clock in view.background]
    lines += [_reading(row) for row in view.readings]
    lines += now.forecast
    lines += [_tick(row) for row in view.ticks]
    lines += [f"While you wait: {_tick(row)}" for row in view.meanwhile if not row.made]
    lines += [line.words for line in view.standing]
    if view.held:
        lines.append(_held(view))
    if view.next:
        lines.append(f"Next: {view.next}.")
    return tuple(dict.fromkeys(lines))


def everything(now: PlainSnapshot) -> tuple[str, ...]:
    """The progress of the evening, the step with its keys, and an open panel."""
    view = now.view
    rail = [f"{'   ' if row.depth else ''}{row.mark}: {row.text}" for row in view.rail]
    lines = ["", f"Session {view.session}, {view.elapsed} since it began. The stages:", *rail, *step_lines(now)]
    if view.safe_way_out:
        lines.append(f"The safe way out of here: {view.safe_way_out}")
    lines += [now.trouble] if now.trouble else ()
    lines += panel_lines(now.panel) if now.panel is not None else ()
    lines += [now.message] if now.message else ()
    return (*lines, keys_line(now))


def changes(before: PlainSnapshot | None, now: PlainSnapshot) -> tuple[str, ...]:
    """What is new since `before`: the whole step if it is another one (or `before` is None), else changes."""
    if before is None or (before.view.step, before.view.closed) != (now.view.step, now.view.closed):
        lines = [*step_lines(now)]
    else:
        lines = _within_step(before.view, now.view, {read.of for read in now.readings[len(before.readings) :]})
        lines += now.forecast if now.forecast != before.forecast else ()
    panel, trouble, message = (None, "", "") if before is None else (before.panel, before.trouble, before.message)
    if now.trouble != trouble:
        lines.append(now.trouble or "Everything is being kept again.")
    lines += _panel_changes(panel, now.panel)
    if now.message and now.message not in (now.trouble, message):
        lines.append(now.message)
    # The keys are always written after a step or panel has opened or closed.
    same = before is not None and before.view.step == now.view.step and type(panel) is type(now.panel)
    if before is None or not same or keys_line(now) != keys_line(before):
        lines.append(keys_line(now))
    return tuple(lines)


def clock_line(clock: ClockView) -> str:
    """What a clock shows, in one sentence."""
    match clock.face:
        case "lead-in":
            return f"Clock: {clock.seconds} s {clock.words}."
        case "still":
            return f"Time: {clock.digits}, {clock.words}."
        case "down":
            end = f", {minutes_seconds(clock.drain_s)} to drain" if clock.drain_s else ""
            end += f", until {clock.end_clock}" if clock.end_clock else ""
            return f"Clock: {clock.digits} {clock.words}{end}; {minutes_seconds(clock.elapsed_s)} so far."
        case "over":
            return f"Clock: {clock.digits} {clock.words}; {minutes_seconds(clock.elapsed_s)} in all."
        case "up" | "since":
            return f"Clock: {clock.digits} {clock.words}."


def clock_mark(clock: ClockView | None) -> tuple[str, str, int, int]:
    """A value that changes whenever the clock is to be written: every 30 s near its end or start, else seldom.

    A lead-in is written once; a stopped clock only as part of its step.
    """
    if clock is None or clock.face in ("still", "lead-in"):
        return (clock.face if clock is not None else "", "", 0, 0)
    every = next((every for most, every in _CALM if clock.seconds <= most), _CALMEST_S)
    down = clock.face == "down"
    return (clock.face, clock.words, every, -(-clock.seconds // every) if down else clock.seconds // every)


def clocks_lines(view: View) -> tuple[str, ...]:
    """All clocks and the time of day."""
    here = (clock_line(view.clock),) if view.clock is not None else ("No clock runs at this step.",)
    return (*here, *(f"{clock.words}." for clock in view.background), f"It is {view.wall}; {view.elapsed} in all.")


def keys_line(now: PlainSnapshot) -> str:
    """What the three keys do now, with the letters typed for them."""
    if now.read_only:
        return "Keys: b leaves; this terminal only follows."
    if isinstance(now.panel, Words):
        return "Keys: type the words on one line; an empty line leaves."
    named = (("s", now.keys.space), ("ENTER", now.keys.enter), ("b", now.keys.backspace))
    said = "; ".join(f"{key} {words}" for key, words in named if words)
    if isinstance(now.panel, Number):
        return f"Keys: type the number; {said}."
    return f"Keys: {said}." if said else "Keys: none."


def panel_lines(panel: Panel) -> tuple[str, ...]:
    """A panel as it opens: its title, its words, and what can be chosen, numbered."""
    match panel:
        case Menu():
            rows = [f"  {n} {each.title} ({each.letter})" for n, each in enumerate(panel.items, 1)]
            return ("Menu:", *rows, _marked(panel.index, panel.items[panel.index].title))
        case Choice():
            rows = [f"  {number} {words}" for number, (_, words) in enumerate(panel.options, 1)]
            marked = (_marked(panel.index, panel.options[panel.index][1]),) if panel.index >= 0 else ()
            return (panel.title, *panel.lines, *rows, *marked)
        case Number():
            title = panel.title if panel.title.endswith("?") else f"{panel.title}:"
            return (title, f"In the field: {_field(panel)} (in {panel.unit}).")
        case Words():
            return (f"{panel.title}: type it on one line.",)
        case Page():
            return (f"{panel.title}:", *(f"  {line}" for line in panel.lines))


def _panel_changes(before: Panel | None, now: Panel | None) -> list[str]:
    if now is None or now == before:
        return []
    if isinstance(now, Menu) and isinstance(before, Menu):
        return [_marked(now.index, now.items[now.index].title)]
    if isinstance(now, Choice) and isinstance(before, Choice) and now.title == before.title:
        return [_marked(now.index, now.options[now.index][1])]
    if isinstance(now, Number) and isinstance(before, Number) and now.title == before.title:
        return [f"In the field: {_field(now)}."]
    return list(panel_lines(now))


def _within_step(before: View, now: View, read: set[str]) -> list[str]:
    """What has changed in a step. read: the solutions whose temperature was read since."""
    lines = [fact for fact in now.facts if _shape(fact) not in {_shape(each) for each in before.facts}]
    if _shape(now.act) != _shape(before.act) and now.act not in ("", now.instruction):
        lines.append(now.act)
    lines += [_reading(row) for row in now.readings if row not in before.readings or row.of in read]
    lines += _tick_changes((*before.ticks, *before.meanwhile), (*now.ticks, *now.meanwhile))
    rang = {clock.text for clock in before.background if clock.done}
    lines += [f"{clock.words}." for clock in now.background if clock.done and clock.text not in rang]
    lines += [line.words for line in now.standing if line not in before.standing]
    if now.held != before.held:
        lines.append(_held(now) if now.held else "The guide goes on.")
    if clock_mark(now.clock) != clock_mark(before.clock) and now.clock is not None:
        lines.append(clock_line(now.clock))
    return lines


def _tick_changes(before: tuple[TickRow, ...], now: tuple[TickRow, ...]) -> list[str]:
    was = {row.id: row for row in before}
    lines = []
    for row in now:
        old = was.get(row.id)
        if old is None or (old.made, old.overridden) != (row.made, row.overridden):
            lines.append(_tick(row))
    # a line confirmed together with another may have left the list: then only the marked one is new
    marked = next((row for row in now if row.up), None)
    if marked is not None and not was.get(marked.id, marked).up and _tick(marked) not in lines:
        lines.append(_tick(marked))
    return lines


def _heading(view: View) -> str:
    practice = f"PRACTICE at {view.speed:g} times the speed" if view.speed != 1.0 else "PRACTICE"
    parts = (practice if view.practice else "", view.batch, view.stage, view.wall)
    return ". ".join(part for part in parts if part)


def _tick(row: TickRow) -> str:
    must = " (a must)" if row.killer and not row.made else ""
    due = f", {row.due}" if row.due and not row.made else ""
    mark = "done" if row.made else "against the rule" if row.overridden else "MARKED" if row.up else "open"
    return f"{mark}: {row.text}{must}{due}"


def _reading(row: ReadingRow) -> str:
    if not row.value:
        must = "wanted" if row.wanted else "any value"
        must = must if row.required else "welcome"
        missing = "not read yet" if row.verdict == "not read" else row.verdict
        return f"{row.title}: {missing}, {must}{f' at {row.wanted}' if row.wanted else ''}"
    verdict = row.verdict if row.verdict in ("in range", "read") else row.verdict.upper()
    return f"{row.title}: {row.value}, {verdict}{f' (wanted {row.wanted})' if row.wanted else ''}"


def _held(view: View) -> str:
    return f"ON HOLD: the guide waits, the bath does not. The safe way out: {view.safe_way_out}"


def _marked(index: int, words: str) -> str:
    return f"Marked: {index + 1} {words}"


def _field(panel: Number) -> str:
    untouched = panel.what != "late" and panel.steps is None and not panel.typed
    return "nothing yet" if untouched else panel.shown


def _shape(text: str) -> str:
    """A sentence without its numbers, so that a changed count alone is not new."""
    return _DIGITS.sub("#", text)
