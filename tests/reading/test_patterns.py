"""Patterns: what is declared is what is scored.

Expectations are common practice without a source; what invented people of known pattern are read
as is measured by ``python -m benchmarks patterns``.
"""

import math
from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from slowphase.reading.pattern_table import pattern_table, rows
from slowphase.reading.patterns import read_patterns
from tests.reading.battery_findings import (
    ACUTE_RIGHT,
    LIGHT_LEAK,
    LOW_ALERTNESS,
    mirrored,
    session,
)

COMPENSATED = {"calorics_of": (12.0, 45.0), "impulses_of": (0.6, 0.9)}
BOTH = {
    "gain": 0.08,
    "constants": (3.0, 3.2),
    "lead": 1.8,
    "calorics_of": (3.0, 4.0),
    "impulses_of": (0.3, 0.32),
    "suppression": None,
}
CASES = {
    "normal": {},
    "peripheral_right": ACUTE_RIGHT,
    "peripheral_both": BOTH,
    "central_suppression": {"suppression": 45.0, "pursuit_of": 0.5},
    "storage_long": {"constants": (27.0, 26.0), "lead": 0.6},
    "storage_short": {"constants": (6.5, 6.0), "lead": 1.7},
    "preponderance": {"velocity": 5.0},
    "dissociation": {"calorics_of": (10.0, 42.0)},
    "not_interpretable": {"found": (LOW_ALERTNESS,)},
}


def first(**keys):
    return read_patterns(session(**keys)).first


@pytest.mark.parametrize("code", CASES)
def test_each_pattern_comes_first_where_its_signs_are(code):
    assert first(**CASES[code]).code == code


def test_the_stages_of_a_loss_are_told_apart_by_the_nystagmus():
    assert first(**ACUTE_RIGHT).variant == "acute"
    assert first(**COMPENSATED).variant == "compensated"
    assert first(**COMPENSATED).code == "peripheral_right"


def test_no_stage_is_named_where_no_nystagmus_was_looked_for():
    loss = {"velocity": None, "gain": None, "constants": None, "suppression": None}
    found = first(**COMPENSATED, **loss)
    assert (found.code, found.variant) == ("peripheral_right", "")
    assert "stage cannot be told" in found.title


@pytest.mark.parametrize("code", CASES)
def test_mirroring_a_session_swaps_the_sides_and_nothing_else(code):
    here, there = (read_patterns(make(**CASES[code])) for make in (session, mirrored))
    swap = {"right": "left", "left": "right"}
    for one in here.ranking:
        sided = one.code
        if one.side:
            sided = one.code.replace(one.side, swap[one.side])
        other = next(p for p in there.ranking if p.code == sided)
        assert other.share == pytest.approx(one.share)
        assert other.strength == one.strength


def without_intervals(findings):
    """The same calorics and impulses, as values that were typed in without an interval."""
    typed = {"low": None, "high": None, "why": ("measured_elsewhere",)}

    def bare(result):
        if result.kind not in ("caloric", "impulse"):
            return result
        return replace(result, measures=tuple(replace(m, **typed) for m in result.measures))

    return replace(
        findings,
        trials=tuple(bare(trial) for trial in findings.trials),
        groups=tuple(bare(group) for group in findings.groups),
    )


ONE_EAR = {"calorics_of": (2.0, 45.0), "impulses_of": (0.3, 0.9), "gain": None, "constants": None}


@pytest.mark.parametrize("keys", [ONE_EAR, {}])
def test_values_without_an_interval_make_no_pattern_firm(keys):
    findings = session(**keys)
    measured, typed = (
        read_patterns(findings).first,
        read_patterns(without_intervals(findings)).first,
    )
    assert (measured.code, measured.strength) == (typed.code, "firm")
    assert typed.strength == "moderate"


def test_a_side_is_weak_where_a_nystagmus_alone_names_it():
    alone = {"calorics_of": None, "impulses_of": None, "constants": None, "sides": 0.0}
    found = read_patterns(session(velocity=12.0, **alone))
    sided = [p for p in found.ranking if p.side is not None]
    assert sided
    assert all(p.strength == "weak" for p in sided)


def test_a_side_is_weak_where_anything_surely_names_the_other():
    # an irritated or recovering ear, or a mirrored channel: the nystagmus beats to the weak side
    found = read_patterns(session(**{**ACUTE_RIGHT, "velocity": -12.0}))
    assert all(p.strength == "weak" for p in found.ranking if p.side is not None)


def test_a_drowsy_session_is_not_read_as_a_loss_of_both_sides():
    tired = {"gain": 0.3, "constants": (6.0, 6.0), "lead": 1.5, "calorics_of": None,
             "impulses_of": None, "found": (LOW_ALERTNESS,)}  # fmt: skip
    found = read_patterns(session(**tired))
    assert (found.first.code, found.first.variant) == ("not_interpretable", "drowsy")
    assert all(p.strength == "weak" for p in found.ranking[1:])


def test_a_loss_of_both_sides_is_weak_where_rotation_alone_shows_it_in_part():
    alone = {"calorics_of": None, "impulses_of": None, "gain": 0.3, "constants": (6.0, 6.0)}
    found = read_patterns(session(lead=1.6, **alone))
    assert (found.ranking[0].code, found.ranking[0].strength) == ("peripheral_both", "weak")


def test_light_in_the_booth_is_not_read_as_long_storage():
    found = read_patterns(session(constants=(27.0, 26.0), lead=0.3, found=(LIGHT_LEAK,)))
    assert found.first.code == "not_interpretable"


def test_a_strong_nystagmus_that_spoils_the_whole_response_is_not_read_as_central():
    # the modulated part is suppressed by 92 %; the whole response would look poor
    assert first(**ACUTE_RIGHT).code == "peripheral_right"


def test_without_a_test_nothing_is_read():
    nothing = dict.fromkeys(
        ("velocity", "gain", "constants", "suppression", "calorics_of", "impulses_of", "pursuit_of")
    )
    found = read_patterns(session(**nothing))
    assert (found.first.code, found.first.variant) == ("not_interpretable", "nothing_tested")


def test_where_the_chair_alone_leaves_several_open_none_is_named():
    found = read_patterns(
        session(gain=0.36, constants=(8.7, 8.7), calorics_of=None, impulses_of=None, lead=1.25)
    )
    assert not found.told
    assert found.first is None
    assert len(found.ranking) > 1


def test_points_are_those_of_the_declared_expectations():
    found = first(**CASES["storage_long"])
    sign = next(w for w in found.fit if w.sign.code == "constant_long")
    e = pattern_table()["expectation"]["always"]
    p = sign.sign.chance
    assert sign.points == pytest.approx(math.log2(2 * (p * e + (1 - p) * (1 - e))))


def test_shares_are_those_of_a_softmax_of_the_points():
    # scipy's softmax over the best variants, base two
    from scipy.special import logsumexp

    reading = read_patterns(session(**ACUTE_RIGHT))
    part = pattern_table()["weighing"]["share_of_evidence"] * math.log(2.0)
    chances = pattern_table()["expectation"]
    signs = {sign.code: sign.chance for sign in reading.signs}
    logs = {}

    def fit(code, word):
        return signs[code] * chances[word] + (1 - signs[code]) * (1 - chances[word])

    for row in rows():
        known = [signs[code] for code in row.needs if signs[code] is not None]
        if not known or (row.side and max(known) < 0.5):
            continue
        healthy = pattern_table()["healthy"]
        leads = [
            (math.log2(2 * fit(c, w)), math.log2(2 * fit(c, healthy[c])))
            for c, w in row.expects.items()
            if signs[c] is not None
        ]
        speaks = any(own >= 0.0 and own - usual >= 0.4 for own, usual in leads)
        if row.code == "normal" or speaks:
            logs.setdefault(row.code, []).append(part * sum(own for own, _ in leads))
    size = {code: max(own) for code, own in logs.items()}
    whole = logsumexp(list(size.values()))
    for pattern in reading.ranking:
        assert pattern.share == pytest.approx(math.exp(size[pattern.code] - whole), abs=1e-9)


@given(
    st.floats(-30, 30), st.floats(0.0, 1.2), st.floats(-40, 40), st.floats(-20, 100),
    st.floats(0.5, 60), st.floats(0.5, 60), st.floats(0.05, 1.2), st.floats(0.05, 1.2),
)  # fmt: skip
def test_whatever_was_measured_the_shares_sum_to_one(v, gain, sides, supp, c1, c2, i1, i2):
    found = read_patterns(
        session(velocity=v, gain=gain, sides=sides, suppression=supp, calorics_of=(c1, c2),
                impulses_of=(i1, i2))
    )  # fmt: skip
    assert sum(p.share for p in found.ranking) == pytest.approx(1.0)
    assert [p.share for p in found.ranking] == sorted(p.share for p in found.ranking)[::-1]
    named = [p for p in found.ranking if p.side and p.strength != "weak"]
    assert len({p.side for p in named}) <= 1


def test_a_pattern_lists_what_would_tell_and_was_not_tested():
    found = first(**{**ACUTE_RIGHT, "calorics_of": None})
    assert "right ear answers irrigation less" in found.open


def test_a_sign_left_open_earns_nothing():
    whole = read_patterns(session())
    without = read_patterns(replace(session(), groups=(), trials=session().trials))
    tested = {w.sign.code for p in without.ranking for w in p.weighed}
    assert "caloric_both_weak" not in tested
    assert {w.sign.code for p in whole.ranking for w in p.weighed} > tested


def test_where_hardly_a_sign_is_decided_nothing_is_read():
    from tests.reading.sessions import sinusoid

    wide = tuple(sinusoid(f"sin-{f:g}", 0.4, frequency_hz=f, half=0.9) for f in (0.04, 0.16))
    found = read_patterns(replace(session(), trials=wide, pairs=(), groups=()))
    assert (found.first.code, found.first.variant) == ("not_interpretable", "undecided")


def test_a_bias_in_rotation_alone_is_a_preponderance():
    from tests.reading.sessions import sinusoid

    trials = [t for t in session().trials if t.kind != "sinusoid"]
    turning = [sinusoid(f"sin-{f:g}", 0.6, frequency_hz=f, bias=5.0) for f in (0.04, 0.16, 0.64)]
    found = read_patterns(replace(session(), trials=(*trials, *turning)))
    assert (found.first.code, found.first.variant) == ("preponderance", "moving")


def test_a_mirrored_channel_names_no_side():
    turned = session(**ACUTE_RIGHT)
    trials = tuple(
        replace(t, measures=tuple(replace(m, why=("wrong_way",)) for m in t.measures))
        if t.kind == "sinusoid"
        else t
        for t in turned.trials
    )
    found = read_patterns(replace(turned, trials=trials))
    assert (found.first.code, found.first.variant) == ("not_interpretable", "mirrored")
    assert all(p.strength == "weak" for p in found.ranking[1:])


def test_strong_irrigations_the_wrong_way_name_no_side_and_are_not_weak_ears():
    found = read_patterns(session(**{**ACUTE_RIGHT, "calorics_of": (-0.5, -52.0)}))
    assert (found.first.code, found.first.variant) == ("not_interpretable", "reversed_irrigations")
    assert next(s for s in found.signs if s.code == "caloric_both_weak").chance is None


@pytest.mark.parametrize("keys", [{"vertical": 6.0}, {"gain": None, "vertical": 6.0}])
def test_a_central_sign_is_never_nothing_out_of_the_ordinary(keys):
    found = read_patterns(session(**keys))
    assert found.first is None or found.first.code != "normal"


def test_a_nystagmus_that_changes_direction_is_no_preponderance():
    from tests.reading.sessions import spontaneous

    turning = spontaneous(6.0, why=("direction_changes",), grade="caution")
    rest = [t for t in session(velocity=6.0).trials if t.kind != "spontaneous"]
    found = read_patterns(replace(session(velocity=6.0), trials=(turning, *rest)))
    assert found.first is None or found.first.code != "preponderance"


def test_one_exciting_direction_alone_makes_no_short_constants():
    both = session(constants=(6.0, 14.0))
    trials = tuple(
        replace(t, measures=tuple(m for m in t.measures if m.exciting != "left"))
        if t.kind == "step"
        else t
        for t in both.trials
    )
    signs = {s.code: s for s in read_patterns(replace(both, trials=trials)).signs}
    assert signs["constant_short"].chance is None


def test_a_low_gain_of_the_one_side_that_was_tested_counts():
    whole = session(impulses_of=(0.4, 0.95))
    trials = tuple(
        replace(t, measures=t.measures[:1]) if t.kind == "impulse" else t for t in whole.trials
    )
    groups = tuple(replace(g, measures=()) if g.kind == "impulse" else g for g in whole.groups)
    signs = {s.code: s for s in read_patterns(replace(whole, trials=trials, groups=groups)).signs}
    assert signs["impulse_right_lower"].chance >= 0.95
    assert signs["parts_ways"].chance != 0.0


def test_suppression_that_the_statement_cannot_judge_counts_neither_way():
    drowsy = session(suppression=45.0)
    pair = drowsy.pairs[-1]
    marked = tuple(replace(m, why=("low_alertness",)) for m in pair.measures)
    pairs = (*drowsy.pairs[:-1], replace(pair, measures=marked))
    signs = {s.code: s for s in read_patterns(replace(drowsy, pairs=pairs)).signs}
    assert signs["suppression_poor"].chance is None


def test_signs_of_which_none_speaks_for_a_pattern_are_not_read():
    # only a rest and suppression, nothing found, and nothing that the healthy pattern needs
    only = {"gain": None, "constants": None, "calorics_of": None, "impulses_of": None,
            "pursuit_of": None}  # fmt: skip
    found = read_patterns(session(velocity=0.0, **only))
    assert found.first.code in ("not_interpretable", "normal")
