"""The first page: which numbers it shows, how it names sources, and what it says of agreement."""

from dataclasses import replace

from slowphase.report.front import NUMBERS, front_section, key_numbers, lettered
from slowphase.report.page import anchor


def labels(analysis):
    return [row["label"] for row in front_section(analysis, anchor)["numbers"]]


def test_sinusoids_are_shown_at_their_lowest_and_highest_frequency(analysis):
    shown = [(key.name, key.number("frequency_hz")) for key, _ in key_numbers(analysis)]
    assert [hz for name, hz in shown if name == "gain" and hz] == [0.01, 0.64]
    assert [hz for name, hz in shown if name == "phase"] == [0.01]


def test_a_number_that_could_not_be_had_is_there_with_its_reason(analysis):
    rows = front_section(analysis, anchor)["numbers"]
    missing = next(row for row in rows if row["label"] == "gain, 0.64 Hz")
    assert (missing["value"], missing["grade"]) == ("–", "unusable")
    assert missing["reference"] == "The trial was not done."


def test_every_number_leads_to_its_row_and_carries_its_interval(analysis):
    known = {anchor("m", measure.id) for measure in analysis.measures()}
    rows = front_section(analysis, anchor)["numbers"]
    assert len(rows) >= 8
    assert {row["target"] for row in rows} <= known
    assert all(row["interval"] for row in rows)


def test_numbers_beyond_the_page_are_counted_not_hidden(analysis):
    step = next(t for t in analysis.trials if t.kind == "step")
    many = tuple(replace(step, id=f"{step.id}-{i}", parts=(f"{step.id}-{i}",)) for i in range(9))
    front = front_section(replace(analysis, trials=many), anchor)
    assert len(front["numbers"]) == NUMBERS
    assert front["more_numbers"] == 2 * 9 + len(labels(replace(analysis, trials=()))) - NUMBERS


def test_each_source_has_one_letter_in_the_order_of_the_rows():
    assert lettered(["x", "", "y", "x"]) == {"x": "a", "y": "b"}
    many = lettered(str(number) for number in range(28))
    assert (many["25"], many["26"], many["27"]) == ("z", "aa", "ab")


def test_an_empty_session_has_no_numbers_and_no_pattern(analysis):
    empty = replace(analysis, trials=(), pairs=(), patterns=replace(analysis.patterns, ranking=()))
    front = front_section(empty, anchor)
    assert (front["numbers"], front["pattern"], front["agreement"]) == ([], None, [])
