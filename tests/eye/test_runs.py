import numpy as np
from hypothesis import given
from hypothesis import strategies as st

from slowphase.eye.runs import samples_of


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
