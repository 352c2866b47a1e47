"""Patients are found however a name, a code or a date is typed."""

from datetime import date

import pytest
from hypothesis import given
from hypothesis import strategies as st

from slowphase.store.sought import folded, sought_text, sought_words
from tests.store.small_session import write_small_session


@pytest.fixture
def clinic(store, tmp_path):
    """Four patients by their codes, one with two sessions."""
    people = [
        ("K-0417", "Zoë Müller-Łukasz", "2026-03-02", "vor Gentamicin"),
        ("K-0417", "Zoë Müller-Łukasz", "2026-09-12", "danach"),
        ("K-0418", "Ève Straße", "2025-03-02", "100 % off_axis"),
        ("P-7", None, "2026-01-31", ""),
        ("P-71", "Søren Ågård", "2024-11-05", "Ménière"),
    ]
    for number, (code, name, day, title) in enumerate(people):
        folder = write_small_session(tmp_path / str(number), code, date=day, name=name)
        store.add_session(folder, by="Ann", title=title)
    return store


def found(store, find):
    return {row.code for row in store.patients(find)}


@pytest.mark.parametrize(
    ("find", "codes"),
    [
        ("zoe", {"K-0417"}),
        ("ZOË MULLER", {"K-0417"}),
        ("Lukasz", {"K-0417"}),
        ("strasse", {"K-0418"}),
        ("STRASSE eve", {"K-0418"}),
        ("soren agard", {"P-71"}),
        ("meniere", {"P-71"}),
        ("k-041", {"K-0417", "K-0418"}),
        ("P-7", {"P-7", "P-71"}),
        ("2026-03-02", {"K-0417"}),
        ("2.3.2026", {"K-0417"}),
        ("02/03/2026", {"K-0417"}),
        ("31/01/2026", {"P-7"}),
        ("1/31/2026", {"P-7"}),
        ("gentamicin 2026-09", {"K-0417"}),
        ("0417 strasse", set()),
        ("%", {"K-0418"}),
        ("_", {"K-0418"}),
        ("100 % off", {"K-0418"}),
        ("\\", set()),
        ("' OR 1=1 --", set()),
        ("", {"K-0417", "K-0418", "P-7", "P-71"}),
        ("  \n ", {"K-0417", "K-0418", "P-7", "P-71"}),
    ],
)
def test_every_word_is_looked_for_without_case_and_accents(clinic, find, codes):
    assert found(clinic, find) == codes


def test_a_patient_who_is_found_by_one_session_comes_with_all_of_them(clinic):
    (row,) = clinic.patients("danach")
    assert [session.date for session in row.sessions] == [date(2026, 9, 12), date(2026, 3, 2)]


def test_name_and_sex_come_from_the_sessions_of_the_patient_s_own_code(store, tmp_path):
    first = store.add_session(write_small_session(tmp_path / "a", "K-1"), by="Ann")
    other = store.add_session(write_small_session(tmp_path / "b", "K-2", name="Other"), by="Ann")
    store.move_session(other.id, first.patient, by="Ann", reason="same")
    assert store.patient(first.patient).name is None
    store.add_session(write_small_session(tmp_path / "c", "K-1", name="Ada"), by="Ann")
    assert store.patient(first.patient).name == "Ada"
    assert found(store, "ada") == {"K-1"}


def test_the_last_that_came_stands_first(store, tmp_path, monkeypatch):
    times = iter(f"2026-03-02T14:0{minute}:00+01:00" for minute in range(9))
    monkeypatch.setattr(
        type(store), "clock", property(lambda _self: lambda: next(times)), raising=False
    )
    for code in ("K-1", "K-2", "K-1", "K-3"):
        store.add_session(write_small_session(tmp_path / f"{code}{next(times)}", code), by="Ann")
    assert [row.code for row in store.patients()] == ["K-3", "K-1", "K-2"]


@given(text=st.text(min_size=1), day=st.dates())
def test_whatever_was_written_is_found_by_each_of_its_words(text, day):
    sought = sought_text("code", text, day=day)
    assert all(word in sought for word in sought_words(text))
    assert all(word in sought for word in sought_words(f"{day} {day.day}.{day.month}.{day.year}"))


@given(text=st.text())
def test_folding_a_text_twice_changes_nothing_more(text):
    assert folded(folded(text)) == folded(text)
