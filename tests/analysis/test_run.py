from dataclasses import replace
from datetime import date
from functools import cache

import pytest
from made_traces import answered, recorded, spinning, times, trial, turning

from slowphase.analysis.run import analyze
from slowphase.analysis.settings import Settings
from slowphase.measures.settings import MeasureSettings
from slowphase.recording.session import Patient, Session
from slowphase.recording.trial import Trial


def sinusoid(name, frequency_hz=0.16, *, gain=0.6, vision="dark", seed=0):
    time = times(3.0 + 5 / frequency_hz + 1.0)
    head = turning(frequency_hz, 5, time)
    velocity = 1.5 + answered(head, (gain, 15.0), (gain, 15.0), 100.0)
    keys = {"frequency_hz": frequency_hz, "peak_velocity_deg_s": 60.0}
    recording = recorded(velocity, head, time, seed=seed)
    return trial("sinusoid", recording, name=name, vision=vision, **keys)


def spin(direction):
    time = times(100.0)
    speed = 100.0 if direction == "right" else -100.0
    head = spinning(time, velocity=speed, stop_s=50.0)
    velocity = 1.5 + answered(head, (0.6, 15.0), (0.6, 15.0), 100.0)
    keys = {"direction": direction, "velocity_deg_s": 100.0}
    return trial("step", recorded(velocity, head, time), name=f"step-{direction}", **keys)


@cache
def session():
    """A small session with every kind that is measured, in memory."""
    refused = Trial(id="sin-0.01", kind="sinusoid", outcome="not done", reason="nausea")
    trials = (
        sinusoid("dark"),
        replace(sinusoid("again", seed=1), repeat_of="dark"),
        sinusoid("fixed", gain=0.06, vision="head-fixed target", seed=2),
        spin("right"),
        spin("left"),
        refused,
        Trial(id="audiogram", kind="values"),
    )
    return Session(Patient("A-1", 50.0, "female"), date(2026, 3, 2), trials)


@cache
def analysis():
    return analyze(session())


def values(found):
    return {m.id: (m.value, m.low, m.high, m.why) for m in found.measures()}


def test_every_trial_keeps_its_place_also_those_that_were_not_done():
    assert [t.id for t in analysis().trials] == [t.id for t in session().trials]
    refused = analysis().trials[5]
    assert (refused.outcome, refused.reason) == ("not done", "nausea")
    assert {m.why for m in refused.measures} == {("not_done",)}
    assert all(m.value is None and m.grade == "unusable" for m in refused.measures)


def test_each_trial_is_announced_before_it_is_measured():
    heard = []
    analyze(session(), progress=heard.append)
    assert heard == [t.id for t in session().trials]


def test_pairs_and_both_spins_are_found():
    assert [p.kind for p in analysis().pairs].count("suppression") == 1
    assert [p.kind for p in analysis().pairs].count("step_sides") == 1


@pytest.mark.parametrize("left_out", ["again", "nothing"])
def test_the_order_of_the_trials_does_not_matter(left_out):
    trials = tuple(t for t in session().trials if t.id != left_out)
    before = values(analyze(replace(session(), trials=trials)))
    after = values(analyze(replace(session(), trials=trials[::-1])))
    assert set(before) == set(after)
    for name, (*numbers, why) in before.items():
        for number, other in zip(numbers, after[name], strict=False):
            missing = number is None
            assert other is None if missing else other == pytest.approx(number, rel=1e-9), name
        assert set(after[name][-1]) == set(why)


def test_one_trial_s_measures_do_not_depend_on_the_others():
    alone = analyze(replace(session(), trials=(session().trials[3],)))
    kept = {k: v for k, v in values(analysis()).items() if k.startswith("step-right/")}
    assert kept == values(alone)


def test_measure_ids_are_unique():
    ids = [m.id for m in analysis().measures()]
    assert len(ids) == len(set(ids))


def test_every_number_is_there_for_a_reader_or_missing_for_a_reason():
    for measure in analysis().measures():
        assert (measure.value is None) == (measure.grade == "unusable")
        assert measure.value is not None or measure.why


def test_the_same_session_gives_the_same_json_byte_for_byte():
    assert analysis().to_json() == analyze(session()).to_json()


def test_settings_change_the_numbers_and_their_digest():
    other = Settings(measures=MeasureSettings(adaptation_log_sd=0.01, adaptation_s=20.0))
    changed = analyze(session(), settings=other)
    assert changed.provenance.settings_digest != analysis().provenance.settings_digest
    assert values(changed) != values(analysis())


def test_the_same_settings_have_the_same_digest():
    assert Settings().digest() == Settings().digest()


def test_the_provenance_names_version_and_digests():
    from slowphase import __version__

    source = replace(session(), input_digest="ab" * 32)
    provenance = analyze(replace(source, trials=())).provenance
    assert provenance.version == __version__
    assert provenance.input_digest == "ab" * 32
    for digest in (provenance.settings_digest, provenance.reference_digest):
        assert len(bytes.fromhex(digest)) == 32


def test_an_empty_session_gives_an_empty_analysis():
    nothing = analyze(replace(session(), trials=()))
    assert nothing.measures() == ()
    assert nothing.pairs == ()
    assert nothing.to_polars().height == 0
