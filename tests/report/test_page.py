"""The report page: self-contained, escaped, deterministic, and every link leads somewhere."""

import re
from dataclasses import replace
from html.parser import HTMLParser

import numpy as np
import pytest

import slowphase
from slowphase.cli.simulated_session import session_from
from slowphase.physiology.person import Person
from slowphase.physiology.protocol import head_shaking, pursuit
from slowphase.physiology.recorder import Equipment
from slowphase.physiology.simulate import simulate
from slowphase.recording.session import Patient
from slowphase.reference.placement import RunnerUp
from slowphase.report.folding import while_moving
from slowphase.report.index import IndexEntry, render_index
from slowphase.report.overview_figure import overview_figure
from slowphase.report.page import anchor, render_page
from slowphase.report.step_figure import change_indices, responses, step_limits
from slowphase.report.trial_figure import medians_in_time


class Links(HTMLParser):
    """Ids, links, tags and unclosed elements of a page."""

    def __init__(self, page):
        super().__init__()
        self.ids, self.hrefs, self.tags, self.images = [], [], [], []
        self.feed(page)

    def handle_starttag(self, tag, attrs):
        given = dict(attrs)
        self.tags.append(tag)
        self.ids += [given["id"]] if "id" in given else []
        self.hrefs += [given["href"]] if tag == "a" else []
        if tag == "svg":
            self.images.append((given.get("role"), given.get("aria-label")))


@pytest.fixture(scope="module")
def page(analysis):
    return render_page(analysis)


@pytest.fixture(scope="module")
def links(page):
    return Links(page)


def test_needs_no_script_and_no_other_file(page, links):
    assert "script" not in links.tags
    assert not {"link", "img", "iframe", "object"} & set(links.tags)
    assert all(href.startswith("#") for href in links.hrefs)
    assert not re.search(r"url\((?!#)|@import|@font-face", page)


def test_every_link_leads_to_a_place_in_the_page(links):
    missing = {href[1:] for href in links.hrefs} - set(links.ids)
    assert missing == set()


def test_no_id_is_used_twice(links):
    assert len(links.ids) == len(set(links.ids))


def test_every_measure_has_a_place_and_every_piece_of_evidence_leads_to_one(analysis, links):
    assert {anchor("m", measure.id) for measure in analysis.measures()} <= set(links.ids)
    evidence = [item.measure for s in analysis.statements for item in s.evidence]
    assert evidence
    assert {"#" + anchor("m", id_) for id_ in evidence} <= set(links.hrefs)


def test_every_picture_is_described_for_those_who_do_not_see_it(analysis, links):
    assert len(links.images) == 4 + sum(t.evidence is not None for t in analysis.trials)
    assert all(role == "img" and label and len(label) > 40 for role, label in links.images)


def test_texts_from_the_session_are_escaped(page):
    assert "<acute>" not in page
    assert "&lt;acute&gt; attack &amp; after" in page


def test_hostile_names_do_not_become_markup(analysis):
    bad = '"><script>alert(1)</script>'
    trial = replace(analysis.trials[0], id=bad, reason=bad, outcome="stopped")
    patient = replace(analysis.patient, code=bad)
    small = replace(analysis, patient=patient, trials=(trial,), pairs=(), statements=())
    assert "script" not in Links(render_page(small)).tags


def test_the_same_analysis_gives_the_same_bytes(analysis, page):
    assert render_page(analysis) == page


def test_says_where_there_is_no_reference_and_how_each_value_is_known(page):
    assert "no reference for this stimulus" in page
    assert "(read in the publication)" in page
    assert "common practice, no source" in page


def test_each_statement_tells_its_version_and_the_sources_that_its_measures_do_not(page):
    assert "suppression, version 1" in page
    assert "Sources: falls with frequency and amplitude, like pursuit: Koenig" in page
    beside = "least suppression expected in the chair at low and middle speeds: 80 %"
    assert beside in page
    assert beside.replace(": 80 %", ", 80 %:") not in page


def test_the_conditions_that_touch_numbers_stand_in_the_caption_of_every_table(page):
    told = "alerting: mental arithmetic; light: dark"
    captions = re.findall(r"<caption>(Measures of .*?)</caption>", page, flags=re.DOTALL)
    assert captions
    assert all(told in caption for caption in captions)


def test_cautions_stand_at_the_top_and_at_the_end(page):
    first, last = page.index("not a medical device"), page.rindex("not a medical device")
    assert first < page.index('id="reading"') < page.index('id="provenance"') < last


def test_problems_and_trials_not_done_are_shown(analysis, page):
    assert "line 501" in page
    assert "not done" in page
    assert "nausea" in page


def test_an_empty_session_still_gives_a_page(analysis):
    empty = replace(analysis, trials=(), pairs=(), statements=(), placements={}, problems=())
    page = render_page(empty)
    assert "Nothing can be said about this session." in page
    assert "The session holds no test of function across frequency." in page


def test_reasons_for_unused_samples_are_written_not_only_coloured(page):
    for words in ("blink", "lost: no eye tracked", "lapse of alertness", "quick phases R"):
        assert words in page


def test_the_overview_marks_what_the_session_does_not_hold(page):
    assert "calorics: not in this session" in page
    assert "impulses: not in this session" in page


def test_it_stays_small(page):
    assert len(page) < 3_000_000 * 9 / 12  # 3 MB for 12 trials; this one has 9


def test_steps_are_cut_at_each_change_of_chair_velocity(analysis):
    spin = next(t for t in analysis.trials if t.id == "step-left")
    first, second = responses(spin)
    assert (first.of, first.letter, second.of, second.letter) == ("per", "L", "post", "R")
    # as invented: 0.42 and 0.55 of 100 deg/s, with 6 deg/s of nystagmus against and for them
    assert first.fit_deg_s[0] == pytest.approx(42 - 6, abs=4)
    assert second.fit_deg_s[0] == pytest.approx(55 + 6, abs=4)


def test_a_chair_at_rest_has_no_changes():
    assert change_indices(np.full(1000, 0.3)) == []


def test_the_index_links_every_report_and_says_that_patients_are_invented():
    files = (("session folder", "b/session.toml"),)
    entries = (
        IndexEntry("a.html", "A & B", not_found=("x", "y"), cannot_tell=("z",)),
        IndexEntry("b.html", "C", ("one", "two"), files=files),
    )
    page = render_index("Demo", entries)
    assert Links(page).hrefs == ["a.html", "b.html", "b/session.toml"]
    assert "None of these was found: x; y." in page
    assert "Cannot be told: z." in page
    assert page.count("None of these was found") == 1
    assert "A &amp; B" in page
    assert "invented" in page


def test_rest_before_and_after_the_motion_is_not_folded_into_the_cycles():
    head = np.concatenate([np.zeros(100), 60 * np.sin(np.arange(1000) / 50), np.zeros(100)])
    moving = while_moving(head)
    assert not moving[:100].any()
    assert not moving[-95:].any()
    assert moving[110:1090].all()


def test_a_set_that_does_not_state_its_stimulus_is_no_filled_band(analysis):
    # Yu 2022 was read without its peak velocity: placed at 0.01 Hz, but only about so
    placed = [p for p in analysis.placements.values() if p.set == "yu-2022"]
    assert placed
    assert all("stimulus not stated" in p.unstated for p in placed)
    told = replace(analysis, placements={id_: replace(p, unstated=()) for id_, p in
                                         analysis.placements.items()})  # fmt: skip
    assert "var(--band)" not in overview_figure(analysis)
    assert "var(--band)" in overview_figure(told)


def test_bands_of_the_whole_response_never_stand_behind_the_half_gains(analysis):
    stated = {id_: replace(p, unstated=()) for id_, p in analysis.placements.items()}
    halves = [t for t in analysis.trials if t.id == "sin-0.01"]
    only = replace(halves[0], measures=tuple(m for m in halves[0].measures if m.name != "phase"))
    svg = overview_figure(replace(analysis, trials=(only,), placements=stated))
    # one set, one panel: its central 95 % is filled once
    assert svg.count("fill: var(--band)") == 1


def test_where_nothing_responds_the_empty_phase_panel_says_so(analysis):
    silent = tuple(
        replace(t, measures=tuple(m for m in t.measures if m.name != "phase"))
        for t in analysis.trials
    )
    assert "no response: no phase" in overview_figure(replace(analysis, trials=silent))
    assert "no response: no phase" not in overview_figure(analysis)


def test_no_peak_of_a_step_is_cut_off(analysis):
    shown = [r for t in analysis.trials if t.kind == "step" for r in responses(t)]
    low, high = step_limits(shown)
    for response in shown:
        assert low < np.nanmin(response.speed_deg_s)
        assert high > max(np.nanmax(response.speed_deg_s), np.nanmax(response.fit_deg_s))


def test_medians_follow_a_fast_sinusoid():
    time = np.arange(4000) / 200
    values = 30 * np.sin(2 * np.pi * 0.64 * time)
    x, y = medians_in_time(time, values, 0.1 / 0.64)
    assert np.abs(y).max() > 28
    assert y == pytest.approx(30 * np.sin(2 * np.pi * 0.64 * x), abs=1.5)


def test_what_describes_the_recording_is_not_graded_sound(page):
    rows = re.findall(r"<tr id=.*?</tr>", page, re.DOTALL)
    shares = [row for row in rows if "time beating that way" in row or "cycles used" in row]
    assert shares
    assert all("<td></td>" in row for row in shares)
    assert any("<td>sound</td>" in row for row in rows)


def test_sources_are_named_by_titles_that_can_be_read(page):
    assert "Yu et al. 2022, healthy adults at 0.01 Hz" in page
    assert "Habits of the trade, no source" in page


def test_intervals_say_what_they_do_not_cover(page):
    assert "not calibration or day-to-day change" in page


def test_a_trial_that_is_only_shown_is_not_counted_as_measured():
    plans = (replace(head_shaking(), rest_s=10.0), pursuit(0.4))
    session = session_from(simulate(Person(), plans, Equipment(), seed=1), Patient("T"), None)
    analysis = slowphase.analyze(session)
    shaken = analysis.trials[0]
    assert shaken.quality.why == ("not_measured_yet",)
    assert shaken.evidence is not None
    assert "1 measured of 2" in render_page(analysis)


def test_the_page_tells_z_and_what_sets_that_were_not_chosen_lack(analysis):
    id_, placement = next((i, p) for i, p in analysis.placements.items() if p.z is not None)
    other = RunnerUp("another-set", "read", ("age outside 20–59 years",))
    changed = replace(placement, z=-1.26, runners_up=(other,))
    page = render_page(
        replace(
            analysis,
            placements={**analysis.placements, id_: changed},
            unplaced={"sin-9/gain": (other,)},
        )
    )
    assert "z = −1.3" in page
    assert "Not chosen: another-set: age outside 20–59 years." in page
    assert "sin-9/gain: another-set: age outside 20–59 years." in page
