"""The reading: draft, preview, and a signature on what was shown and nothing else."""

import re

import pytest
from served import BY, PASSPHRASE, is_error

from slowphase.analysis.run import analyze
from slowphase.recording.read import read_session
from slowphase.report.page import render_page
from slowphase.signing.record import check_chain, check_page, open_record

NAME = "A. Meyer, audiologist"
DIGEST = "slowphase-reading-digest"


@pytest.fixture
def odd(store, page, folders):
    """A small session that is measured, and someone who may sign."""
    session = store.add_session(folders["odd"], by="R. Doe").id
    page.session(session)
    answer = page.send("POST", "signers", {"name": NAME, "passphrase": PASSPHRASE})
    assert answer.status_code == 201
    return session


def drafted(page, session, **decisions):
    return page.send("PUT", f"sessions/{session}/draft", {"by": "R. Doe", **decisions})


def signed(page, session, digest, passphrase=PASSPHRASE, by=NAME):
    body = {"by": by, "passphrase": passphrase, "expected_digest": digest}
    return page.send("POST", f"sessions/{session}/sign", body)


def shown(page, session, **asked):
    answer = page.get(f"sessions/{session}/report.html", **asked)
    assert answer.status_code == 200, answer.text
    return answer.text, answer.headers[DIGEST]


def test_a_draft_is_kept_and_seen_in_the_preview_which_says_that_it_is_one(page, odd):
    keys = page.session(odd)["statement_keys"]
    answer = drafted(
        page, odd, reworded={"summary": "All in order, in my words."},
        dropped={keys[0]: "not asked for"}, remark="Repeat in a year.",
    )  # fmt: skip
    assert answer.status_code == 200, answer.text
    again = page.session(odd)
    assert again["draft"] == answer.json()["draft"]
    assert again["session"]["draft"]
    text, digest = shown(page, odd)
    assert digest == again["reading_digest"] == answer.json()["reading_digest"]
    assert "Draft, not signed" in text
    for words in ("All in order, in my words.", "not asked for", "Repeat in a year."):
        assert words in text
    assert "<script" not in text


def test_every_decision_changes_the_digest_of_the_reading(page, odd):
    found = {page.session(odd)["reading_digest"]}
    for remark in ("one", "two"):
        found.add(drafted(page, odd, remark=remark).json()["reading_digest"])
    page.edit(odd, "exclude", "a/b window", start_s=10.0, stop_s=12.5)
    found.add(page.session(odd)["reading_digest"])
    assert len(found) == 4


@pytest.mark.parametrize(
    "decisions",
    [{"dropped": {"nothing": "why"}}, {"reworded": {"nothing": "what"}}, {"remark": "a\x07b"},
     {"reworded": {"summary": " "}}, {"remark": 5}, {"dropped": ["x"]}, {"wish": "x"}],
)  # fmt: skip
def test_a_decision_that_fits_no_statement_is_refused(page, odd, decisions):
    assert is_error(drafted(page, odd, **decisions), 422)
    assert page.session(odd)["draft"] == {"reworded": {}, "dropped": {}, "remark": ""}


def test_what_was_shown_is_signed_and_its_record_is_whole(store, page, odd):
    drafted(page, odd, remark="Repeat in a year.")
    _, digest = shown(page, odd)
    answer = signed(page, odd, digest)
    assert answer.status_code == 200, answer.text
    version = answer.json()["version"]
    assert (version["number"], version["by"], version["replaces"]) == (1, NAME, None)
    kept = store.versions(odd)[0]
    record = open_record(kept.record_text, "v1")
    check_page(record, kept.page_html, "v1")
    assert record.reading_digest == version["reading_digest"]
    text, digest = shown(page, odd, version=1)
    assert text == kept.page_html
    assert digest == version["reading_digest"]
    assert f"Signed by {NAME}" in text
    assert "Repeat in a year." in text
    assert page.session(odd)["session"]["signed_version"] == 1


def test_a_reading_that_changed_since_it_was_shown_is_not_signed(store, page, odd):
    _, digest = shown(page, odd)
    drafted(page, odd, remark="one more word")
    answer = signed(page, odd, digest)
    assert is_error(answer, 409, "reading_changed")
    page.edit(odd, "set_aside", "paused")
    assert is_error(signed(page, odd, answer.json()["error"]["found"]), 409, "reading_changed")
    assert store.versions(odd) == ()


def test_reopening_makes_a_new_version_that_names_the_old(store, page, odd):
    for number in (1, 2):
        _, digest = shown(page, odd)
        answer = signed(page, odd, digest)
        assert answer.json()["version"]["number"] == number
        drafted(page, odd, remark="A second thought.")
    versions = page.session(odd)["versions"]
    assert [one["replaces"] for one in versions] == [None, 1]
    assert "the signer's remark" in versions[1]["differs"]
    assert any("since version 1" in line for line in answer.json()["notices"])
    check_chain([open_record(one.record_text, "v") for one in store.versions(odd)])
    text, _ = shown(page, odd)
    assert re.search(r"A signed version 2.*exists", text)


def test_what_is_shown_is_known_as_signed_until_a_decision_or_an_edit_differs(page, odd):
    assert page.session(odd)["signed_as_shown"] is None
    drafted(page, odd, remark="Repeat in a year.")
    signed(page, odd, shown(page, odd)[1])
    assert page.session(odd)["signed_as_shown"] == 1
    drafted(page, odd, remark="Repeat in two years.")
    assert page.session(odd)["signed_as_shown"] is None
    drafted(page, odd, remark="Repeat in a year.")
    assert page.session(odd)["signed_as_shown"] == 1
    page.edit(odd, "set_aside", "paused")
    assert page.session(odd)["signed_as_shown"] is None


def test_a_wrong_passphrase_signs_nothing_and_too_many_lock(page, store, odd):
    _, digest = shown(page, odd)
    answers = [signed(page, odd, digest, passphrase="guessed at random") for _ in range(5)]
    assert is_error(answers[0], 403, "wrong_passphrase")
    assert is_error(answers[-1], 423, "signing_locked")
    assert is_error(signed(page, odd, digest), 423, "signing_locked")
    assert store.versions(odd) == ()


def test_nobody_signs_who_may_not(page, odd):
    assert is_error(signed(page, odd, "0" * 64, by="Nobody"), 404)
    assert is_error(signed(page, odd, "short"), 422)


def test_signers_are_listed_without_anything_secret(page, odd):
    answer = page.get("signers")
    assert [one["name"] for one in answer.json()] == [NAME]
    assert set(answer.json()[0]) == {"name", "added_at"}
    again = page.send("POST", "signers", {"name": NAME, "passphrase": PASSPHRASE})
    assert is_error(again, 409, "conflict")
    short = page.send("POST", "signers", {"name": "B. Weber", "passphrase": "short"})
    assert is_error(short, 422)


@pytest.mark.parametrize("paper", ["a4", "letter"])
def test_the_same_page_comes_as_pdf(page, odd, paper):
    answer = page.get(f"sessions/{odd}/report.pdf", paper=paper)
    assert answer.headers["content-type"] == "application/pdf"
    assert answer.content.startswith(b"%PDF")
    assert answer.headers[DIGEST] == page.session(odd)["reading_digest"]


def test_a_version_that_was_never_signed_is_not_found(page, odd):
    assert is_error(page.get(f"sessions/{odd}/report.html", version=1), 404, "not_found")
    assert is_error(page.get(f"sessions/{odd}/report.pdf", version=0), 422)
    assert is_error(page.get(f"sessions/{odd}/report.pdf", paper="napkin"), 422)


def test_a_draft_names_a_statement_that_an_edit_took_away_and_cannot_be_signed(page, odd):
    keys = page.session(odd)["statement_keys"]
    drafted(page, odd, dropped={keys[-1]: "not asked for"})
    page.edit(odd, "set_aside", "paused")
    page.edit(odd, "set_aside", "a/b window")
    gone = keys[-1] not in page.session(odd)["statement_keys"]
    _, digest = shown(page, odd)
    answer = signed(page, odd, digest)
    assert gone
    assert is_error(answer, 422)
    assert BY["by"] not in answer.text


def test_a_page_with_kept_figures_is_the_page_that_is_drawn_anew(store, page, odd, folders):
    first, _ = shown(page, odd)
    second, _ = shown(page, odd)
    anew = render_page(analyze(read_session(folders["odd"])))
    assert first == second == anew
