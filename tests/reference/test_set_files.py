"""Files of reference sets: what is wrong is said once and clearly, what is sound is kept."""

import re
from dataclasses import replace
from pathlib import Path

import pytest

from slowphase.foundation.errors import InputError
from slowphase.reference.library import read_references, shipped
from slowphase.reference.set_file import read_set
from slowphase.reference.sets import reference_digest, reference_sets
from slowphase.reference.standing import limits, percentiles_at, quartiles, standing

HEAD = '[set]\nid = "mine"\ncitation = "x"\nmark = "local"\npopulation = "healthy"\n'
ENTRY = '[[entry]]\nmeasure = "gain"\nkind = "sinusoid"\nunit = "1"\n'


def entry_of(group, entry=ENTRY, head=HEAD):
    return read_set(f"{head}{entry}groups = [{{ {group} }}]\n")[0]


def problems_of(text):
    with pytest.raises(InputError) as raised:
        read_set(text, "mine.toml")
    return raised.value.problems


@pytest.mark.parametrize(
    ("text", "key", "line", "told"),
    [
        (HEAD.replace('mark = "local"\n', ""), "set, mark", 1, "missing"),
        (HEAD.replace('"local"', '"guess"'), "set, mark", 4, 'one of "local"'),
        (HEAD.replace("population", "populaton"), "set, populaton", 5, '"population"'),
        (HEAD + 'colour = "red"\n', "set, colour", 6, "not known"),
        (HEAD + ENTRY.replace('unit = "1"', "unit = 1"), "entry 1, unit", 9, "a text in quotes"),
        (HEAD + ENTRY, "entry 1, groups", 6, "add groups"),
        (HEAD + ENTRY + "frequency_hz = -1\n", "entry 1, frequency_hz", 10, "above 0"),
        (HEAD + ENTRY + 'recording = "film"\n', "entry 1, recording", 10, '"video"'),
        ("[set\n", None, None, "not valid TOML"),
        (HEAD, "entry", None, "no entry"),
    ],
)
def test_each_thing_wrong_is_named_with_file_line_and_key(text, key, line, told):
    if "[[entry]]" in text and "groups" not in text and key != "entry 1, groups":
        text += "groups = [{ lower = 0.1 }]\n"
    found = [p for p in problems_of(text) if key is None or (p.key or "").strip(", ") == key]
    assert len(found) == 1
    assert found[0].file == "mine.toml"
    assert found[0].line == line
    assert told in found[0].message


@pytest.mark.parametrize(
    ("group", "key", "told"),
    [
        ("mean = 0.5", "mean", "mean without sd"),
        ("sd = 0.5", "sd", "sd without mean"),
        ("mean = 0.5, sd = 0.0", "sd", "above 0"),
        ("lower = 3.0, upper = 2.0", "lower", "above upper"),
        ("lower = 2.0, upper = 2.0", "lower", "equals upper"),
        ("mean = 0.5, sd = 0.1, lower = 0.1, upper = 0.2", "lower", "one way"),
        ("lower = 1.0, ages = [-5, 400]", "ages", "0 to 130"),
        ("lower = 1.0, ages = [nan, 40]", "ages", "0 to 130"),
        ("sd = 0.1, mean = 1" + 400 * "0", "mean", "finite"),
        ("mean = 1e308, sd = 1.0", "mean", "possible size"),
        ("n = 20", "", "no values"),
        ("lower = 1.0, ages = [60, 20]", "ages", "rising"),
        ('lower = 1.0, sex = "f"', "sex", '"female"'),
        ("lower = 1.0, n = 0", "n", "1 or more"),
        ('percentiles = { "2.5" = 0.6, "97.5" = 0.3 }', "percentiles", "rise together"),
        ('percentiles = { "2.5" = 0.3, "100" = 0.9 }', "percentiles", "rise together"),
        ('percentiles = { "2.5" = "x", "97.5" = 0.3 }', "percentiles", "rise together"),
        ('percentiles = { "50" = 0.3 }', "percentiles", "rise together"),
        ('curve = [{ age_years = 20, percentiles = { "2.5" = 1, "97.5" = 2 } }]', "curve", "two"),
    ],
)
def test_a_group_that_cannot_be_meant_is_refused(group, key, told):
    (problem,) = problems_of(f"{HEAD}{ENTRY}groups = [{{ {group} }}]\n")
    assert problem.key.startswith("entry 1, group 1")
    assert key in problem.key
    assert told in problem.message
    assert problem.line == 10


ONE = "mean = 0.5, sd = 0.1"


@pytest.mark.parametrize(
    "groups",
    [
        f"{{ ages = [20, 40], {ONE} }}, {{ ages = [40, 60], {ONE} }}",
        f"{{ ages = [20, 40], {ONE} }}, {{ ages = [20, 40], mean = 0.3, sd = 0.1 }}",
        f'{{ {ONE} }}, {{ ages = [20, 40], sex = "male", {ONE} }}',
        f"{{ {ONE} }}] \n{ENTRY}groups = [{{ {ONE} }}",
    ],
)
def test_two_groups_for_the_same_people_are_refused(groups):
    (problem,) = problems_of(f"{HEAD}{ENTRY}groups = [{groups}]\n")
    assert "holds for people of entry 1, group 1 too" in problem.message


@pytest.mark.parametrize(
    "groups",
    [
        f"{{ ages = [20, 39], {ONE} }}, {{ ages = [40, 60], {ONE} }}",
        f'{{ sex = "female", {ONE} }}, {{ sex = "male", {ONE} }}',
        f"{{ {ONE} }}]\nfrequency_hz = 0.01\n{ENTRY}frequency_hz = 0.02\ngroups = [{{ {ONE} }}",
    ],
)
def test_groups_for_different_people_or_stimuli_stand_beside_each_other(groups):
    assert len(read_set(f"{HEAD}{ENTRY}groups = [{groups}]\n")) == 2


@pytest.mark.parametrize(
    ("right", "wrong", "key", "told"),
    [
        ('"gain"', '"gayn"', "measure", 'did you mean "gain"?'),
        ('"sinusoid"', '"sinus"', "kind", 'did you mean "sinusoid"?'),
        ('unit = "1"', 'unit = "bananas"', "unit", 'expected "1"'),
        ('unit = "1"', 'unit = "1"\nvision = "darkness"', "vision", 'did you mean "dark"?'),
    ],
)
def test_a_word_that_no_measure_has_is_refused_with_the_nearest(right, wrong, key, told):
    text = f"{HEAD}{ENTRY.replace(right, wrong)}groups = [{{ {ONE} }}]\n"
    (problem,) = problems_of(text)
    assert problem.key == f"entry 1, {key}"
    assert told in problem.message
    assert read_set(f'{text}not_placed = "another measure"\n')


def test_an_empty_id_and_a_number_beyond_reading_are_refused():
    text = f"{ENTRY}groups = [{{ {ONE} }}]\n"
    (problem,) = problems_of(HEAD.replace('"mine"', '" "') + text)
    assert (problem.key, problem.line) == ("set, id", 2)
    (problem,) = problems_of(f"{HEAD}{text}".replace("0.5", 5000 * "1"))
    assert "not valid TOML" in problem.message


def test_all_problems_of_a_file_come_at_once():
    text = f"{HEAD}{ENTRY}groups = [{{ mean = 1.0 }}, {{ n = 3 }}]\nvison = 3\n"
    assert len(problems_of(text)) == 3


def test_every_shipped_set_is_sound():
    assert len(reference_sets()) > 20


def test_percentiles_may_be_written_with_and_without_quotes():
    quoted = entry_of('percentiles = { "2.5" = 0.3, "50" = 0.5, "97.5" = 0.9 }')
    bare = entry_of("percentiles = { 2.5 = 0.3, 50 = 0.5, 97.5 = 0.9 }")
    assert quoted.percentiles == bare.percentiles == ((2.5, 0.3), (50.0, 0.5), (97.5, 0.9))


def test_a_value_stands_between_percentiles_and_beyond_the_outermost_it_is_only_below_or_above():
    entry = entry_of('percentiles = { "2.5" = 0.3, "50" = 0.5, "97.5" = 0.9 }')
    assert standing(0.5, entry, None).percentile == pytest.approx(50.0)
    assert standing(0.3, entry, None).percentile == pytest.approx(2.5)
    # half way in normal scores: z = -0.98, percentile 16.35 (standard normal table: 0.1635)
    assert standing(0.4, entry, None).percentile == pytest.approx(16.35, abs=0.01)
    assert standing(0.4, entry, None).z == pytest.approx(-0.98, abs=1e-3)
    low, high = standing(0.299, entry, None), standing(0.901, entry, None)
    assert (low.percentile, low.z, low.below, low.above) == (None, None, 2.5, None)
    assert (high.percentile, high.below, high.above) == (None, None, 97.5)


def test_percentiles_of_a_normal_group_place_values_as_mean_and_sd_do():
    percentiles = '{ "2.5" = -1.959964, "25" = -0.674490, "75" = 0.674490, "97.5" = 1.959964 }'
    table, moments = entry_of(f"percentiles = {percentiles}"), entry_of("mean = 0.0, sd = 1.0")
    for value in (-1.9, -0.7, 0.0, 0.3, 1.5):
        one, other = standing(value, table, None), standing(value, moments, None)
        assert one.percentile == pytest.approx(other.percentile, abs=1e-3)
    assert quartiles(table, None) == pytest.approx(quartiles(moments, None), abs=1e-4)


def test_limits_are_the_central_95_percent_or_else_the_outermost_percentiles():
    wide = entry_of('percentiles = { "1" = -2.326348, "50" = 0.0, "99" = 2.326348 }')
    narrow = entry_of('percentiles = { "5" = -1.6, "95" = 1.6 }')
    assert limits(wide, None).lower == pytest.approx(-1.959964, abs=1e-5)
    assert limits(wide, None).between == (2.5, 97.5)
    assert limits(narrow, None).between == (5.0, 95.0)
    assert limits(entry_of("lower = 9.0"), None).between is None


def test_a_curve_is_straight_between_its_ages_and_holds_for_its_ages_only():
    point = '{{ age_years = {}, percentiles = {{ "2.5" = {}, "97.5" = {} }} }}'
    group = f"curve = [{point.format(20, 0.4, 0.8)}, {point.format(80, 0.1, 0.7)}]"
    entry = entry_of(group)
    assert entry.ages == (20.0, 80.0)
    assert percentiles_at(entry, 50.0) == ((2.5, pytest.approx(0.25)), (97.5, pytest.approx(0.75)))
    assert limits(entry, 80.9).lower == pytest.approx(0.1)


def test_equal_percentiles_place_their_value_in_the_middle_of_them():
    entry = entry_of('percentiles = { "2.5" = 0.0, "50" = 0.0, "97.5" = 3.0 }')
    assert standing(0.0, entry, None).z == pytest.approx(-0.98, abs=1e-3)


def test_what_a_set_says_of_all_its_entries_holds_for_each():
    head = HEAD + 'alerting = "sums"\nrecording = "video"\n'
    entry = entry_of("lower = 0.1", head=head)
    assert (entry.alerting, entry.recording) == ("sums", "video")


def write(folder, name, id_="mine", extra=""):
    text = HEAD.replace('"mine"', f'"{id_}"') + ENTRY + "groups = [{ lower = 0.1 }]\n" + extra
    (folder / name).write_text(text, encoding="utf-8")


def test_a_folder_of_sets_is_read_beside_the_shipped_ones_with_its_order(tmp_path):
    write(tmp_path, "a.toml", "one")
    write(tmp_path, "b.toml", "two")
    (tmp_path / "references.toml").write_text('prefer = ["two", "su-2000"]\n', encoding="utf-8")
    found = read_references(tmp_path)
    assert {e.set for e in found.entries} == {e.set for e in reference_sets()} | {"one", "two"}
    assert found.prefer == ("two", "su-2000")
    assert read_references(tmp_path / "a.toml").prefer == ()


def test_the_digest_changes_with_every_byte_and_with_the_order(tmp_path):
    write(tmp_path, "a.toml", "one")
    plain = read_references(tmp_path).digest
    (tmp_path / "references.toml").write_text('prefer = ["one"]\n', encoding="utf-8")
    ordered = read_references(tmp_path).digest
    write(tmp_path, "a.toml", "one", "# a comment\n")
    assert len({plain, ordered, read_references(tmp_path).digest, reference_digest()}) == 4
    assert shipped().digest == reference_digest()
    assert replace(shipped(), prefer=()) == shipped()


@pytest.mark.parametrize(
    ("order", "told"),
    [
        ('prefer = ["one", "su-2001"]', "there is no set"),
        ('prefer = "one"', "a list in brackets"),
        ('prefer = [["a"], "one", {}]', "ids in quotes"),
        ('preferred = ["one"]', "not known"),
        ("prefer = [", "not valid TOML"),
    ],
)
def test_a_wrong_order_is_refused_and_names_its_file(tmp_path, order, told):
    write(tmp_path, "a.toml", "one")
    (tmp_path / "references.toml").write_text(order, encoding="utf-8")
    with pytest.raises(InputError, match=told) as raised:
        read_references(tmp_path)
    assert "references.toml" in str(raised.value)


def test_an_id_that_is_taken_is_refused(tmp_path):
    write(tmp_path, "a.toml", "su-2000")
    with pytest.raises(InputError, match="a set of Slowphase"):
        read_references(tmp_path)


@pytest.mark.parametrize("content", [None, b"\xff\xfe"])
def test_a_place_without_sets_is_one_clear_line(tmp_path, content):
    if content is not None:
        (tmp_path / "a.toml").write_bytes(content)
    with pytest.raises(InputError) as raised:
        read_references(tmp_path)
    assert len(raised.value.problems) == 1


def test_the_example_of_the_docs_is_a_sound_set():
    page = (Path(__file__).parents[2] / "docs" / "references.md").read_text(encoding="utf-8")
    examples = re.findall(r"```toml\n(.*?)```", page, flags=re.DOTALL)
    entries = read_set(next(text for text in examples if "[[entry]]" in text))
    assert [entry.sex for entry in entries] == [None, "female", None]
    assert entries[1].percentiles[1] == (50.0, 0.49)
