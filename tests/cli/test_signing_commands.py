"""``--pdf``, ``--clinic``, ``sign`` and ``signed`` on folders: files, versions, refusals."""

import io
import json
import re
import shutil

import pypdf
import pytest
from command_line import BY, start

from slowphase.cli.simulated_folder import simulate_into
from slowphase.foundation.errors import UsageError

CLINIC = """
name = "Example Balance Clinic"
address = ["1 Invented Street"]
logo = "logo.svg"
"""
LOGO = (
    '<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 6 3"><rect width="6" height="3"/></svg>'
)
# Measured on A4 and letter: 39 and 45 pages, 2.0 MB.
MOST_PAGES, MOST_BYTES = 46, 4_000_000


@pytest.fixture
def folder(made, tmp_path):
    return shutil.copytree(made, tmp_path / "session")


def statements(folder):
    told = json.loads((folder / "readings" / "v1.json").read_text(encoding="utf-8"))
    return {s["key"]: s["decision"] for s in told["reading"]["statements"]}


def test_a_pdf_is_written_beside_the_page(folder, tmp_path):
    (tmp_path / "clinic.toml").write_text(CLINIC, encoding="utf-8")
    (tmp_path / "logo.svg").write_text(LOGO, encoding="utf-8")
    pdf, page = tmp_path / "new" / "r.pdf", tmp_path / "r.html"
    clinic = tmp_path / "clinic.toml"
    words = ("--pdf", pdf, "--report", page, "--paper", "letter", "--clinic", clinic)
    assert start("analyze", folder, *words).exit_code == 0
    text = pypdf.PdfReader(pdf).pages[0].extract_text()
    assert "Draft, not signed" in text
    assert "Example Balance Clinic" in text
    assert "Example Balance Clinic" in page.read_text(encoding="utf-8")


@pytest.mark.parametrize(
    ("content", "said"),
    [
        ("name = ", "no valid TOML"),
        ("name = 3", "name is 3"),
        ('name = "x"\nlogo = "none.svg"', "none.svg cannot be read"),
        ('name = "x"\nlogo = 3', "logo is 3"),
    ],
)
def test_a_bad_clinic_file_is_one_clear_line_and_nothing_is_written(
    folder, tmp_path, content, said
):
    file = tmp_path / "clinic.toml"
    file.write_text(content, encoding="utf-8")
    found = start("sign", folder, *BY, "--clinic", file)
    assert found.exit_code == 2
    assert said in found.stderr
    assert len(found.stderr.splitlines()) == 1
    assert not (folder / "readings").exists()


def test_signed_page_and_pdf_are_the_same_bytes_whenever_they_are_made_again(folder, tmp_path):
    first, again = tmp_path / "1.pdf", tmp_path / "2.pdf"
    page, page_again = tmp_path / "1.html", tmp_path / "2.html"
    signed = start("sign", folder, *BY, "--pdf", first, "--report", page)
    assert (signed.exit_code, signed.stderr) == (0, "")
    for trace in (folder / "trials").iterdir():
        trace.unlink()  # what was signed needs no recording to be shown again
    listed = start("signed", folder, "--pdf", again, "--report", page_again)
    assert listed.exit_code == 0
    assert "version 1, signed by A. Meyer, audiologist" in listed.stdout
    assert first.read_bytes() == again.read_bytes()
    assert page.read_bytes() == page_again.read_bytes()


def test_the_same_signing_gives_the_same_record(folder, made, tmp_path):
    other = shutil.copytree(made, tmp_path / "other")
    for place in (folder, other):
        assert start("sign", place, *BY).exit_code == 0
    for name in ("v1.json", "v1.html"):
        one, two = (place / "readings" / name for place in (folder, other))
        assert one.read_bytes() == two.read_bytes()


def test_statements_are_dropped_and_reworded_with_texts_from_the_call_or_a_file(folder, tmp_path):
    (tmp_path / "words.txt").write_text("Worded in a file.\n", encoding="utf-8")
    found = start(
        "sign", folder, *BY, "--drop", "vertical_nystagmus=lid", "--remark", "mine",
        "--reword", f"spontaneous_nystagmus=@{tmp_path / 'words.txt'}",
        "--report", tmp_path / "r.html",
    )  # fmt: skip
    assert found.exit_code == 0
    assert "the summary for the referrer is as Slowphase wrote it" in found.stderr
    assert statements(folder)["vertical_nystagmus"] == "dropped"
    assert statements(folder)["spontaneous_nystagmus"] == "reworded"
    page = (tmp_path / "r.html").read_text(encoding="utf-8")
    assert "Worded in a file." in page
    assert "Left out by the signer" in page
    assert ": lid" in page


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (("--drop", "nonsense=x"), "is no statement of this reading"),
        (("--drop", "vertical_nystagmus"), "expected CODE=TEXT"),
        (("--drop", "vertical_nystagmus="), "an empty text"),
        (("--drop", "a=1", "--drop", "a=2"), "names a twice"),
        (("--remark", "@nowhere.txt"), "nowhere.txt cannot be read"),
        (("--at", "yesterday"), "time of signing 'yesterday'"),
    ],
)
def test_a_signing_that_makes_no_sense_writes_nothing(folder, words, said):
    found = start("sign", folder, *BY, *words)
    assert found.exit_code == 2
    assert said in found.stderr
    assert not (folder / "readings").exists()


def test_signing_again_makes_a_new_version_that_names_the_old(folder):
    assert start("sign", folder, *BY).exit_code == 0
    old = (folder / "readings" / "v1.json").read_bytes()
    found = start("sign", folder, *BY, "--remark", "again")
    assert "the same input and software" in found.stderr
    assert found.stdout.strip().endswith("v2.json")
    second = json.loads((folder / "readings" / "v2.json").read_text(encoding="utf-8"))
    first = json.loads(old)
    assert second["replaces"] == {
        "version": 1,
        "digest": first["digest"],
        "reading_digest": first["reading_digest"],
        "differs": ["the signer's remark"],
    }
    assert (folder / "readings" / "v1.json").read_bytes() == old
    assert "differs in: the signer's remark" in found.stderr
    paper = (folder / "readings" / "v2.html").read_text("utf-8")
    assert "Changed since version 1: the signer&#39;s remark." in paper


def test_one_digest_names_a_version_on_paper_in_the_list_and_where_it_is_replaced(folder):
    for _ in range(2):
        assert start("sign", folder, *BY).exit_code == 0
    readings = folder / "readings"
    first, second = ((readings / f"v{n}.html").read_text("utf-8") for n in (1, 2))
    listed = re.findall(r"[0-9a-f]{64}", start("signed", folder).stdout)
    assert f"Digest of the reading {listed[0]}." in first
    assert f"Digest of the reading {listed[1]}." in second
    assert f"Replaces version 1, digest of its reading {listed[0]}." in second
    assert "Changed since version 1: nothing in input" in second


def test_changed_input_is_told_when_analysing_and_when_signing_again(folder):
    start("sign", folder, *BY)
    assert "Nothing differs." in start("analyze", folder).stderr
    file = folder / "session.toml"
    file.write_text(file.read_text(encoding="utf-8") + "\n# later\n", encoding="utf-8")
    told = start("analyze", folder)
    assert "A signed version 1, signed by A. Meyer, audiologist" in told.stderr
    assert "differs in: input" in told.stderr
    assert "differs in: input" in start("sign", folder, *BY).stderr


def test_a_session_that_was_never_signed_says_nothing_of_it(folder):
    assert start("analyze", folder).stderr == ""
    assert start("signed", folder).stdout == "no signed version\n"


@pytest.mark.parametrize("name", ["v1.json", "v1.html"])
def test_a_changed_version_is_refused(folder, name):
    start("sign", folder, *BY)
    file = folder / "readings" / name
    content = file.read_bytes()
    place = content.index(b"nystagmus")
    file.write_bytes(content[:place] + b"N" + content[place + 1 :])
    found = start("signed", folder)
    assert found.exit_code == 2
    assert "digest does not match" in found.stderr


def test_a_version_that_is_missing_breaks_the_chain(folder):
    for _ in range(2):
        assert start("sign", folder, *BY).exit_code == 0
    (folder / "readings" / "v1.json").unlink()
    for words in (("signed", folder), ("sign", folder, *BY)):
        found = start(*words)
        assert found.exit_code == 2
        assert "exchanged or is missing" in found.stderr


def test_an_unknown_version_is_named(folder, tmp_path):
    start("sign", folder, *BY)
    found = start("signed", folder, "--number", 3, "--report", tmp_path / "x.html")
    assert found.exit_code == 2
    assert "version 3 does not exist" in found.stderr


@pytest.mark.parametrize("words", [("signed",), ("sign", *BY)])
def test_a_page_whose_record_is_lost_keeps_its_number(folder, words):
    start("sign", folder, *BY)
    (folder / "readings" / "v1.json").unlink()
    page = (folder / "readings" / "v1.html").read_bytes()
    found = start(words[0], folder, *words[1:])
    assert found.exit_code == 2
    assert "record missing: readings/v1.html" in found.stderr
    assert [(f.name, f.read_bytes()) for f in (folder / "readings").iterdir()] == [
        ("v1.html", page)
    ]


def test_a_report_that_cannot_be_written_is_told_apart_from_the_signing(folder, tmp_path):
    (tmp_path / "a folder").mkdir()
    found = start("sign", folder, *BY, "--pdf", tmp_path / "a folder")
    assert found.exit_code == 1
    assert "version 1 is signed; only --pdf failed" in found.stderr
    assert f"slowphase signed {folder} --number 1 --pdf FILE" in found.stderr
    assert found.stdout.strip().endswith("v1.json")


def test_a_report_that_cannot_be_made_stops_the_signing(folder, tmp_path, monkeypatch):
    def fails(*_, **__):
        raise UsageError("the PDF cannot be typeset")

    monkeypatch.setattr("slowphase.report.pdf.typeset.typeset", fails)
    assert start("sign", folder, *BY, "--pdf", tmp_path / "r.pdf").exit_code == 2
    assert not (folder / "readings").exists()


def test_what_does_not_exist_is_named_also_without_a_file_to_write(folder, tmp_path):
    start("sign", folder, *BY)
    missing = start("signed", folder, "--number", 99)
    assert (missing.exit_code, "version 99 does not exist" in missing.stderr) == (2, True)
    nowhere = start("signed", tmp_path / "nowhere")
    assert (nowhere.exit_code, "no session folder" in nowhere.stderr) == (2, True)


def test_a_file_in_place_of_the_folder_of_versions_is_named(folder):
    (folder / "readings").write_text("mine", encoding="utf-8")
    for words in (("signed", folder), ("sign", folder, *BY)):
        found = start(*words)
        assert found.exit_code == 2
        assert "readings is a file" in found.stderr
    assert (folder / "readings").read_text(encoding="utf-8") == "mine"


def test_time_runs_forward_from_version_to_version(folder):
    start("sign", folder, *BY, "--at", "2999-03-04T09:30:00+01:00")
    refused = start("sign", folder, *BY, "--at", "2999-03-04T09:29:00+01:00")
    assert refused.exit_code == 2
    assert "is before that of version 1" in refused.stderr
    same = "2999-03-04T08:30:00+00:00"  # the same moment, told from another place
    assert start("sign", folder, *BY, "--at", same).exit_code == 0
    now = start("sign", folder, *BY[:2])
    assert now.exit_code == 0
    assert "is before that of version 2" in now.stderr
    assert "correct the clock" in now.stderr


@pytest.mark.parametrize("text", ["[" * 100_000, '{"a": "\\ud800"}'])
def test_a_record_that_no_signing_wrote_is_one_clear_line(folder, text):
    (folder / "readings").mkdir()
    (folder / "readings" / "v1.json").write_text(text, encoding="utf-8")
    found = start("signed", folder)
    assert found.exit_code == 2
    assert "readings/v1.json is no signed record" in found.stderr


@pytest.mark.parametrize("option", ["--by", "--remark"])
def test_half_a_character_is_refused_in_what_the_signer_writes(folder, option):
    found = start("sign", folder, *BY, option, "A\ud800")
    assert found.exit_code == 2
    assert "control sign" in found.stderr
    assert not (folder / "readings").exists()


def test_the_report_of_a_full_battery_stays_within_its_pages_and_its_size(tmp_path):
    folder = simulate_into("acute-right", tmp_path / "session", lambda *_: None)
    page = tmp_path / "r.html"
    assert start("analyze", folder, "--report", page).exit_code == 0
    from slowphase.report.pdf.typeset import typeset

    text = page.read_text(encoding="utf-8")
    for paper in ("a4", "letter"):
        pdf = typeset(text, paper=paper)
        pages = pypdf.PdfReader(io.BytesIO(pdf)).pages
        assert 20 < len(pages) <= MOST_PAGES
        assert len(pdf) < MOST_BYTES
        first = pages[0].extract_text()
        assert all(words in first for words in ("In short", "Key numbers", "Figure 1."))
