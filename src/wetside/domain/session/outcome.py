"""How a session can end. A module of its own, so that a list of past sessions imports little."""

from __future__ import annotations

from typing import Literal

Outcome = Literal["complete", "complete with deviations", "abandoned", "unknown"]
