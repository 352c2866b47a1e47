"""Any edits in any order: kept or refused, never half, and the numbers are those of the whole."""

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from served import BY, is_error

from slowphase.analysis.run import analyze
from slowphase.recording.read import read_session

TRIALS = st.sampled_from(["a/b window", "paused", "refused", "nowhere", None])
SECONDS = st.one_of(
    st.floats(0, 70),
    st.floats(allow_nan=False, allow_infinity=False),
    st.just(1e308),
    st.integers(),
)
WORDS = st.sampled_from(["right", "left", "both", "horizontal", "vertical", "", "sideways"])
KEYS = st.sampled_from(["frequency_hz", "peak_velocity_deg_s", "direction", "wish", ""])
VALUES = st.one_of(SECONDS, WORDS, st.none(), st.booleans(), st.lists(SECONDS, max_size=2))
ASKED = st.one_of(
    st.tuples(st.just("exclude"), st.fixed_dictionaries({"start_s": SECONDS, "stop_s": SECONDS})),
    st.tuples(
        st.just("quick_phase"), st.fixed_dictionaries({"start_s": SECONDS, "stop_s": SECONDS})
    ),
    st.tuples(st.just("no_quick_phase"), st.fixed_dictionaries({"at_s": SECONDS})),
    st.tuples(st.just("eye"), st.fixed_dictionaries({"eye": WORDS})),
    st.tuples(
        st.just("calibration"),
        st.fixed_dictionaries(
            {"eye": WORDS, "plane": WORDS, "gain": SECONDS}, optional={"offset": SECONDS}
        ),
    ),
    st.tuples(st.just("stimulus"), st.fixed_dictionaries({"key": KEYS, "value": VALUES})),
    st.tuples(st.just("set_aside"), st.just({})),
    st.tuples(st.just("take_back"), st.fixed_dictionaries({"of": st.integers(-1, 6)})),
    st.tuples(st.sampled_from(["undo", "redo"]), st.just({})),
    st.tuples(st.text(max_size=5), st.dictionaries(st.text(max_size=5), VALUES, max_size=2)),
)


@pytest.fixture
def odd(store, page, folders):
    """A small session that is measured."""
    session = store.add_session(folders["odd"], by="R. Doe").id
    page.session(session)
    return session


def asked(page, session, kind, trial, values, count):
    body = {**BY, "expected": count}
    if kind in ("undo", "redo"):
        body.pop("reason")
        return page.send("POST", f"sessions/{session}/{kind}", body)
    body |= {"kind": kind, "trial": trial, "values": values}
    return page.send("POST", f"sessions/{session}/edits", body)


@settings(max_examples=25, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(edits=st.lists(st.tuples(ASKED, TRIALS), min_size=1, max_size=4))
def test_any_edits_are_kept_or_refused_and_give_the_analysis_of_the_whole(
    store, page, odd, folders, edits
):
    for (kind, values), trial in edits:
        count = len(store.edits(odd).log)
        answer = asked(page, odd, kind, trial, values, count)
        now = len(store.edits(odd).log)
        if answer.status_code == 200:
            assert now == count + 1
            assert answer.json()["edits"]["count"] == now
        else:
            assert is_error(answer, answer.status_code)
            assert answer.status_code in (409, 422)
            assert now == count
    whole = analyze(read_session(folders["odd"]), edits=store.edits(odd))
    assert page.session(odd)["document"] == whole.to_document()
    for result in whole.trials:
        assert page.get(f"sessions/{odd}/trials/{result.id}").status_code == 200
