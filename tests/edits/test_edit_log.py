"""The log of edits: order, undo and redo, digest, and its file."""

import json

import pytest
from hypothesis import given
from hypothesis import strategies as st

from slowphase.edits import Edits, read_edits, write_edits
from slowphase.edits.edit import edit_kinds
from slowphase.edits.file import edits_from
from slowphase.foundation.errors import InputError
from tests.edits.session import SIGNED

NOW = {"by": "R. Doe", "at": "2026-03-02T14:06:00+01:00"}


def excluding(count=1):
    edits = Edits()
    for i in range(count):
        edits = edits.with_edit("exclude", "sin-0.1", start_s=float(i), stop_s=i + 0.5, **SIGNED)
    return edits


def test_undo_takes_the_last_back_and_redo_brings_it_again():
    edits = excluding(2)
    undone = edits.undo(**NOW)
    assert [e.id for e in undone.active] == [1]
    assert [e.id for e in undone.undo(**NOW).active] == []
    assert undone.redo(**NOW).active == edits.active
    assert undone.undo(**NOW).redo(**NOW).active == undone.active


def test_nothing_is_removed_from_the_log():
    assert len(excluding(2).undo(**NOW).redo(**NOW).log) == 4


def test_after_a_new_edit_nothing_is_to_be_redone():
    edits = excluding(2).undo(**NOW)
    other = edits.with_edit("set_aside", "rest", **SIGNED)
    assert other.redo(**NOW) == other


def test_with_nothing_to_undo_the_log_stays():
    assert Edits().undo(**NOW) == Edits()
    assert excluding().redo(**NOW) == excluding()


@given(st.lists(st.sampled_from(["edit", "undo", "redo"]), max_size=25))
def test_undo_and_redo_are_those_of_two_stacks(acts):
    edits, done, undone = Edits(), [], []
    for act in acts:
        if act == "edit":
            edits = edits.with_edit("set_aside", "rest", **SIGNED)
            done, undone = [*done, edits.log[-1].id], []
        elif act == "undo":
            edits = edits.undo(**NOW)
            if done:
                undone.append(done.pop())
        else:
            edits = edits.redo(**NOW)
            if undone:
                done.append(undone.pop())
        assert sorted(e.id for e in edits.active) == sorted(done)


def test_the_digest_is_that_of_what_holds_whoever_did_it():
    one = Edits().with_edit("set_aside", "rest", **SIGNED)
    other = Edits().with_edit("set_aside", "rest", by="B", at="2026-04-01T09:00:00", reason="x")
    assert one.digest() == other.digest() != Edits().digest()
    assert one.undo(**NOW).digest() == Edits().digest()


def test_a_file_reads_back_as_it_was_written(tmp_path):
    edits = excluding(2).undo(**NOW).with_edit("calibration", None, eye="both",
                                              plane="horizontal", gain=1.1, **SIGNED)  # fmt: skip
    write_edits(edits, tmp_path / "edits.json")
    assert read_edits(tmp_path / "edits.json") == edits
    assert not (tmp_path / "edits.json.part").exists()


def test_a_file_with_a_byte_order_mark_is_read(tmp_path):
    write_edits(excluding(), tmp_path / "edits.json")
    text = (tmp_path / "edits.json").read_bytes()
    (tmp_path / "edits.json").write_bytes(b"\xef\xbb\xbf" + text)
    assert read_edits(tmp_path / "edits.json") == excluding()


def test_a_file_that_is_nested_without_end_is_refused(tmp_path):
    (tmp_path / "edits.json").write_text("[" * 100_000, encoding="utf-8")
    with pytest.raises(InputError, match="nested too deeply"):
        read_edits(tmp_path / "edits.json")


GOOD = {"id": 1, "kind": "exclude", "trial": "t", "start_s": 1.0, "stop_s": 2.0, **SIGNED}


@pytest.mark.parametrize(
    ("change", "words"),
    [
        ({"kind": "remove"}, "kind is not known"),
        ({"id": 7}, "id does not count on"),
        ({"by": " "}, "by is missing"),
        ({"by": "\ud800"}, "by holds what is no character"),
        ({"reason": "a\0"}, "reason holds what is no character"),
        ({"at": "yesterday"}, "at is no time"),
        ({"trial": None}, "trial is missing"),
        ({"start_s": "1"}, "start_s is wrong"),
        ({"stop_s": 0.5}, "stop_s is not after start_s"),
        ({"colour": 1}, "is no key of exclude"),
        ({"kind": "take_back", "of": 4}, "a trial is named"),
    ],
)
def test_a_wrong_entry_is_refused_with_what_would_be_right(change, words):
    with pytest.raises(InputError) as refused:
        edits_from([{**GOOD, **change}])
    problems = refused.value.problems
    assert any(words in p.message for p in problems)
    assert all(p.code == "invalid_edit" and p.expected and "no edit" in p.message for p in problems)


def test_a_taking_back_names_an_earlier_edit():
    with pytest.raises(InputError, match="names no earlier edit"):
        edits_from([{"id": 1, "kind": "take_back", "of": 1, **SIGNED}])


@pytest.mark.parametrize("text", ["", "[]", '{"schema": 2, "edits": []}', "\x00", '{"edits": 3}'])
def test_a_file_that_is_none_is_refused(tmp_path, text):
    (tmp_path / "edits.json").write_text(text, encoding="utf-8")
    with pytest.raises(InputError) as refused:
        read_edits(tmp_path / "edits.json")
    assert refused.value.problems[0].code == "unreadable_edits"


ANYTHING = st.recursive(
    st.none() | st.booleans() | st.floats() | st.text(),
    lambda part: st.lists(part) | st.dictionaries(st.text(), part),
    max_leaves=8,
)


@given(ANYTHING)
def test_whatever_an_entry_is_it_is_refused_in_words(entry):
    with pytest.raises(InputError, match="edit 1"):
        edits_from([entry])


def test_every_kind_says_what_it_does_and_stands_in_the_docs():
    from pathlib import Path

    page = (Path(__file__).parents[2] / "docs" / "edits.md").read_text(encoding="utf-8")
    for name, kind in edit_kinds().items():
        assert kind.text
        assert f"| `{name}` |" in page
        assert all(key in page for key in kind.keys)
    entry = json.loads(page.split("```json\n")[1].split("```")[0])
    assert len(edits_from(entry["edits"]).active) == 0
