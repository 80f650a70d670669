"""Densities from a CSV and from what is typed: what is read, and what is refused in which words."""

from __future__ import annotations

from pathlib import Path

import pytest

from wetside.errors import FileUnusable, Refused
from wetside.files.density_file import RollDensities, read_densities, typed_densities


def written(folder: Path, text: str) -> Path:
    path = folder / "densities.csv"
    path.write_text(text, "utf-8")
    return path


@pytest.mark.parametrize(
    "text",
    [
        "roll,area,red,green,blue\n2031-001,base,0.3,0.6,0.8\n2031-001,edge,0.9,1.2,1.4\n",
        "\ufeffRoll;Blue;Area;Green;Red;Note\n2031-001;0,8;Base;0,6;0,3;x\n\n2031-001;1,4;EDGE;1,2;0,9\n",
        '"roll"\t"area"\t"red"\t"green"\t"blue"\r\n"2031-001"\tedge\t0.9\t1.2\t1.4\r\n2031-001\tbase\t0.3\t0.6\t0.8\r\n',
    ],
)
def test_density_tables_in_common_layouts_are_read(text: str, tmp_path: Path) -> None:
    found = read_densities(written(tmp_path, text))
    assert found == (RollDensities("2031-001", (0.3, 0.6, 0.8), (0.9, 1.2, 1.4)),)


def test_linear_scanner_values_are_converted(tmp_path: Path) -> None:
    path = written(tmp_path, "roll,area,value\na,base,6553.5\nb,edge,655.35\n")
    found = read_densities(path, white=65535.0)
    assert [each.number for each in found] == ["a", "b"]
    assert (*found[0].base, *found[1].edge) == pytest.approx((1.0, 2.0))


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("", "line 1 names no column roll"),
        ("roll,area,red,green\n", "line 1 names no column blue"),
        ("roll,area,value\n", "it holds no densities below its header"),
        ("roll,area,value\na,bass,0.3\n", 'line 2: area is "bass": write base or edge'),
        ("roll,area,value\na,base,x\n\nb,base,9\n", r'line 2: "x" is no density(.|\n)*line 4: "9" is no density'),
        ("roll,area,value\na,base,0.3\na,base,0.4\n", "line 3: roll a has its base twice"),
        ("roll,area,value\na,base\n", 'line 2: "" is no density'),
        ("roll,area,value\na,base,nan\n", 'line 2: "nan" is no density'),
    ],
)
def test_errors_of_a_density_file_name_their_line(text: str, said: str, tmp_path: Path) -> None:
    with pytest.raises(FileUnusable, match=said):
        read_densities(written(tmp_path, text))


def test_missing_or_unreadable_density_file_is_refused(tmp_path: Path) -> None:
    with pytest.raises(FileUnusable, match="it cannot be read"):
        read_densities(tmp_path / "none.csv")
    (tmp_path / "latin.csv").write_bytes(b"roll,area,value\n\xff")
    with pytest.raises(FileUnusable, match="not UTF-8"):
        read_densities(tmp_path / "latin.csv")


def test_typed_densities_are_read() -> None:
    assert typed_densities("0.62") == (0.62,)
    assert typed_densities("0,30/0.62 / 0.85") == (0.3, 0.62, 0.85)
    for wrong in ("0.3/0.6", "", "0.3/0.6/x", "-1", "inf"):
        with pytest.raises(Refused):
            typed_densities(wrong)
    with pytest.raises(Refused):
        typed_densities("0", white=255.0)
