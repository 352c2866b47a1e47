"""Tables of healthy people in the forms that spreadsheets of many countries write."""

import pytest

from slowphase.foundation.errors import InputError
from slowphase.reference.intervals.table import read_table

COLUMNS = '[columns.g]\nmeasure = "gain"\nkind = "sinusoid"\nunit = "1"\n'
TEXT = "person,age_years,g\nA 1 ,30.5,0.51\n\nB2,,NA\n"


def read(folder, text, encoding="utf-8"):
    (folder / "t.csv").write_bytes(text.encode(encoding))
    (folder / "t.toml").write_text(COLUMNS, encoding="utf-8")
    return read_table(folder / "t.csv")


@pytest.mark.parametrize("encoding", ["utf-8", "utf-8-sig", "utf-16"])
@pytest.mark.parametrize("written", [",.", ";.", ";,", "\t.", "\t,"])
def test_delimiter_decimal_mark_and_encoding_are_found(tmp_path, encoding, written):
    delimiter, decimal = written
    text = TEXT.replace(".", "#").replace(",", delimiter).replace("#", decimal)
    first, second = read(tmp_path, text, encoding)
    assert (first.person, first.age_years, first.readings[0].value) == ("A 1", 30.5, 0.51)
    assert (second.person, second.age_years, second.readings) == ("B2", None, ())


@pytest.mark.parametrize("cell", ["n/a", "nan", "inf", "1e300", "0.5.1", '"1,5"'])
def test_a_cell_that_is_no_number_is_named_with_its_line(tmp_path, cell):
    with pytest.raises(InputError) as raised:
        read(tmp_path, f"{TEXT}C3,40,{cell}\nD4,40,0.5\n")
    (problem,) = raised.value.problems
    assert (problem.line, problem.key) == (5, "g")


def test_codes_that_differ_by_outer_spaces_alone_are_one_person(tmp_path):
    sessions = read(tmp_path, f"{TEXT}A 1,40,0.5\n")
    assert [one.person for one in sessions] == ["A 1", "B2", "A 1"]


@pytest.mark.parametrize("code", ["a 1", "A1", "A  1"])
def test_codes_that_differ_by_case_or_inner_spaces_are_flagged(tmp_path, code):
    with pytest.raises(InputError, match="of line 2 but for case or spaces"):
        read(tmp_path, f"{TEXT}{code},40,0.5\n")


def test_two_columns_of_one_name_are_refused(tmp_path):
    with pytest.raises(InputError, match='2 columns are named "g"'):
        read(tmp_path, "person,g,g\nA,1,2\n")
