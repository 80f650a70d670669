"""Confirming several lines with one key: the person's choice, once three sessions of their own are complete."""

from __future__ import annotations

from pathlib import Path

import pytest
from tests.shipped import shipped_plan

from wetside.app import session_factory
from wetside.app.session_factory import begin_session, resume_session
from wetside.files.settings import Places, Settings
from wetside.storage.sessions import stream_of
from wetside.storage.store import open_store


@pytest.mark.parametrize(
    ("chosen", "earned", "counts"), [(True, True, True), (True, False, False), (False, True, False)]
)
def test_one_answer_for_several_lines_needs_the_setting_and_completed_sessions(
    chosen: bool, earned: bool, counts: bool, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(session_factory, "is_experienced", lambda _: earned)
    places, settings = Places(tmp_path / "data", tmp_path / "s.toml"), Settings(one_answer_for_plain_lines=chosen)
    with open_store(places) as store:
        controller = begin_session(store, places, shipped_plan("three-rolls"), "text", settings, terminal="one")
        assert controller.key_state.one_answer is counts
        controller.release()
        stream = stream_of(controller.state.session, False)
        again = resume_session(store, places, stream, settings, terminal="two")
        assert again.key_state.one_answer is counts
        again.release()
