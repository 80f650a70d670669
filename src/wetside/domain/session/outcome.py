"""How a session can end. By itself, so that a list of past evenings loads no session."""

from __future__ import annotations

from typing import Literal

Outcome = Literal["complete", "complete with deviations", "abandoned", "unknown"]
