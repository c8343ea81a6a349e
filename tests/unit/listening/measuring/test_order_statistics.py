"""Median and percentile against numpy."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from companion.listening.measuring.order_statistics import mean, median, percentile, percentiles

values = st.lists(st.floats(-1e6, 1e6), min_size=1, max_size=40).map(np.array)


@given(values, st.floats(0, 100))
def test_they_are_those_of_numpy(array, percent):
    assert percentile(array, percent) == pytest.approx(np.percentile(array, percent), abs=1e-6)
    assert median(array) == pytest.approx(np.median(array), abs=1e-6)
    assert mean(array) == pytest.approx(np.mean(array), abs=1e-6)
    low, high = percentiles(array, 5, 95)
    assert (low, high) == pytest.approx(tuple(np.percentile(array, (5, 95))), abs=1e-6)


def test_nothing_has_no_median():
    nothing = np.zeros(0)
    assert median(nothing) is mean(nothing) is percentile(nothing, 5) is None
    assert percentiles(nothing, 5, 95) == (None, None)
