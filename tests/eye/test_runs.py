import numpy as np
from hypothesis import given
from hypothesis import strategies as st

from slowphase.eye.runs import first_of_runs, mask_of, numbers_of_runs, samples_of


@given(st.lists(st.tuples(st.integers(0, 50), st.integers(1, 9)), max_size=20))
def test_the_samples_of_ranges_are_those_that_python_s_own_ranges_name(ranges):
    starts = np.array([start for start, _ in ranges], dtype=np.int64)
    stops = np.array([start + length for start, length in ranges], dtype=np.int64)
    number, index, first = samples_of(starts, stops)
    written = [(i, at) for i, (a, length) in enumerate(ranges) for at in range(a, a + length)]
    assert list(zip(number.tolist(), index.tolist(), strict=True)) == written
    assert [written[place] for place in first.tolist()] == [
        (i, start) for i, (start, _) in enumerate(ranges)
    ]


@given(st.lists(st.integers(-5, 40), min_size=1, max_size=60).map(sorted))
def test_the_runs_of_values_in_order_are_numpy_s_unique_values(values):
    array = np.array(values, dtype=np.int64)
    _, first, number = np.unique(array, return_index=True, return_inverse=True)
    assert first_of_runs(array).tolist() == first.tolist()
    assert numbers_of_runs(array).tolist() == number.tolist()


@given(
    st.lists(st.tuples(st.integers(-9, 50), st.integers(0, 20)), max_size=20), st.integers(0, 45)
)
def test_a_mask_is_true_inside_any_of_the_ranges_and_nowhere_else(ranges, size):
    starts = np.array([start for start, _ in ranges], dtype=np.int64)
    stops = np.array([start + length for start, length in ranges], dtype=np.int64)
    inside = {at for start, length in ranges for at in range(start, start + length)}
    assert mask_of(starts, stops, size).tolist() == [at in inside for at in range(size)]
