"""Finding profiles by name, in the places where they may lie."""

from __future__ import annotations

from pathlib import Path

import pytest

import wetside
from wetside.errors import FileUnusable, Unusable
from wetside.files import profile_places


def test_the_shipped_profiles_and_setups_are_found() -> None:
    assert profile_places.find_profile("two-bath").parent == profile_places.shipped_dir()
    assert profile_places.setups_by_name().keys() >= {"three-rolls", "five-rolls-two-batches"}


def test_a_wheel_has_its_profiles_inside_the_package(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    package = tmp_path / "a place with spaces" / "site-packages" / "wetside"
    (package / "shipped").mkdir(parents=True)
    (package / "shipped" / "one.toml").touch()
    monkeypatch.setattr(wetside, "__file__", str(package / "__init__.py"))
    assert profile_places.profiles_by_name() == {"one": package / "shipped" / "one.toml"}


def test_missing_shipped_profiles_are_reported(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(wetside, "__file__", str(tmp_path / "src" / "wetside" / "__init__.py"))
    with pytest.raises(Unusable, match=r"^The profiles that ship with Wetside are missing: install it again\.$"):
        profile_places.shipped_dir()


def test_an_own_profile_is_used_instead_of_a_shipped_one_of_the_same_name(tmp_path: Path) -> None:
    own = tmp_path / "two-bath.toml"
    own.touch()
    (tmp_path / "evening.toml").touch()
    (tmp_path / "notes.txt").touch()
    assert profile_places.find_profile("two-bath", tmp_path) == own
    names = list(profile_places.profiles_by_name(tmp_path))
    assert names == sorted({*names, "evening"})
    assert "notes" not in names


def test_a_missing_own_folder_is_not_an_error(tmp_path: Path) -> None:
    assert profile_places.profiles_by_name(tmp_path / "none") == profile_places.profiles_by_name()


@pytest.mark.parametrize("name", ["mine.toml", "some/where", "/abs/two-bath"])
def test_a_path_is_taken_as_it_is(name: str) -> None:
    assert profile_places.find_profile(name) == Path(name)


def test_an_unknown_name_is_refused_with_the_nearest(tmp_path: Path) -> None:
    with pytest.raises(FileUnusable) as caught:
        profile_places.find_profile("two-bth", tmp_path)
    assert caught.value.sentences == ('There is no profile "two-bth"; the nearest is "two-bath".',)
    with pytest.raises(FileUnusable, match=r'^There is no profile "zzz"; there are .*two-bath'):
        profile_places.find_profile("zzz", tmp_path)
