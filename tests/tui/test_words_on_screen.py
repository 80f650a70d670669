"""Whatever a person typed is drawn as text: cut, wrapped, without controls, in ASCII where it must be."""

from __future__ import annotations

from hypothesis import given
from hypothesis import strategies as st

from wetside.sanitize import IN_ASCII
from wetside.tui.large_digits import SHAPES, columns, rows_of, scales
from wetside.tui.rows import TextLayout, row_width, width

UTF8, PLAIN = TextLayout(True), TextLayout(False)


@given(st.text())
def test_in_an_ascii_locale_only_printable_ascii_is_sent(words: str) -> None:
    sent = TextLayout(False).text(words)
    assert sent.isascii()
    assert sent == "" or sent.isprintable()


@given(st.text())
def test_no_control_or_direction_character_is_ever_sent(words: str) -> None:
    sent = TextLayout(True).text(words)
    assert not any(ord(character) < 32 or 127 <= ord(character) < 160 for character in sent)
    assert not any(
        character in "\u202a\u202b\u202c\u202d\u202e\u2066\u2067\u2068\u2069\u200f" for character in sent
    )


def test_every_special_sign_has_an_ascii_form() -> None:
    assert all(form.isascii() and form.isprintable() for form in IN_ASCII.values())
    assert TextLayout(False).text("38.9 °C ± 0.5, 3:30 → 3:52, −5 × 2") == "38.9 C +/- 0.5, 3:30 -> 3:52, -5 x 2"


def test_letters_with_accents_keep_their_letter() -> None:
    assert TextLayout(False).text("Köln, été") == "Koln, ete"


@given(st.text(), st.integers(1, 60))
def test_cut_words_fit(words: str, cells: int) -> None:
    assert width(UTF8.cut(words, cells)) <= cells
    assert width(PLAIN.cut(words, cells)) <= cells


@given(st.text(alphabet=st.characters(codec="ascii"), max_size=200), st.integers(2, 60))
def test_wrapped_lines_fit_and_lose_no_text(words: str, cells: int) -> None:
    lines = UTF8.wrap(words, cells)
    assert all(width(line) <= cells for line in lines)
    assert "".join(lines).replace(" ", "") == "".join(UTF8.text(words).split())


@given(st.text(max_size=80), st.text(max_size=80), st.integers(1, 80))
def test_a_bar_is_as_wide_as_the_screen(left: str, right: str, cells: int) -> None:
    assert row_width(UTF8.bar(left, right, cells)) == cells


@given(
    st.from_regex(r"[0-9]{1,3}:[0-9]{2}", fullmatch=True), st.integers(8, 200), st.integers(1, 60), st.booleans()
)
def test_large_digits_stay_in_their_space(text: str, cells: int, rows: int, utf8: bool) -> None:
    signs = TextLayout(utf8)
    for scale in scales(text, cells, rows, signs):
        drawn = rows_of(text, scale, signs)
        assert len(drawn) == scale.rows <= rows
        assert {width(line) for line in drawn} == {columns(text, scale)}
        assert columns(text, scale) <= cells
        assert set("".join(drawn)) <= (set("█▀▄ ") if utf8 else set("# "))


def test_digits_are_as_tall_as_fits() -> None:
    tallest = scales("3:07", 80, 20, TextLayout(True))[0]
    assert tallest.rows == 20
    assert scales("3:07", 10, 20, TextLayout(True)) == ()


def test_no_two_large_digits_look_the_same() -> None:
    assert len(set(SHAPES.values())) == len(SHAPES)
    assert all(len({len(line) for line in shape}) == 1 and len(shape) == 5 for shape in SHAPES.values())
