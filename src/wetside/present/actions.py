"""The table of all actions besides those of SPACE, ENTER and BACKSPACE: letters, menu and help page come from it.

Letters are short cuts; the menu (BACKSPACE) has every action. A letter alone changes nothing irreversible. What an
action does, and when it can be chosen, is in `action_effects.py`.
"""

from __future__ import annotations

from typing import Literal, get_args

from msgspec import Struct

AtOnce = Literal["hold", "undo", "quiet", "still in", "pause"]
"""Actions that are recorded as soon as they are chosen."""
Opening = Literal["safe way out", "mishap", "late", "temperature", "early", "against", "dark trouble"]
"""Actions of a step that open a panel."""
ActionId = AtOnce | Opening | Literal["first aid", "note", "look", "far", "help", "leave"]


class Action(Struct, frozen=True):
    """An action. `title` is its text in the menu, `help` that on the key page."""

    id: ActionId
    letter: str
    title: str
    help: str

    @property
    def at_once(self) -> bool:
        """Whether its letter only marks it in the menu, so that a stray key changes nothing."""
        return self.id in get_args(AtOnce)


LOOK_STAGE = "look"
"""The stage in which negatives are looked at, in every profile."""

ACTIONS: tuple[Action, ...] = (
    Action("first aid", "a", "First aid", "What to do for skin, eyes, breath, a swallow or a scald."),
    Action("safe way out", "w", "Stop the evening: the safe way out", "How to leave film and baths safely."),
    Action("mishap", "m", "A mishap, in the light", "What to do now, and what it means for the film; recorded."),
    Action("late", "l", "The clock was started late", "Take off what has passed: 5, 10, 30 s or a typed number."),
    Action("temperature", "t", "A temperature was read", "Type it, or step it with SPACE and BACKSPACE."),
    Action("early", "e", "Pour out before the time", "End an on-time bath early; asks once more."),
    Action("still in", "i", "Not poured out: it is in the tank", "Its clock goes on; the slip is recorded."),
    Action("quiet", "s", "Silence the call", "Stops the repeating bell; the bath still waits."),
    Action("undo", "u", "Take back the last tick", "The first answer stays in the record."),
    Action("against", "g", "Go on against the rule", "Passes a gate with a reason; it is recorded."),
    Action("hold", "h", "Hold the guide", "The guide waits. The chemistry does not."),
    Action("pause", "p", "Pause this step", "Only where the process really can pause."),
    Action("note", "n", "Write a note", "Free words, kept with the session."),
    Action("dark trouble", "d", "Something went wrong in the dark", "Light leak, dropped film, jammed reel."),
    Action("look", "r", "How the film came out", "Edge numbers first, then what is seen; shown next time."),
    Action("far", "v", "Far view, on or off", "The clock and the next act fill the screen."),
    Action("help", "k", "Keys and help", "What each key does."),
    Action("leave", "q", "Leave the guide", "The session stays open; 'wetside' offers it again."),
)


def by_letter(letter: str) -> Action | None:
    """The action with this letter; None without one."""
    return next((each for each in ACTIONS if each.letter == letter), None)
