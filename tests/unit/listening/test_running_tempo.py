"""The running tempo against a least-squares line of numpy."""

import numpy as np

from companion.listening.running_tempo import SPAN_QUARTERS, RunningTempo


def wandering(notes, seed):
    """Times and places of a player who goes on, a little unevenly, with chords and near steps."""
    chance = np.random.default_rng(seed)
    places = np.cumsum(chance.choice([0.0, 0.25, 0.5, 1.0, -0.25], notes))
    seconds = np.cumsum(chance.uniform(0.01, 0.6, notes))
    return list(zip(seconds.tolist(), places.tolist(), strict=True))


def test_it_is_the_slope_of_a_line_through_the_last_quarters():
    points = wandering(400, seed=1)
    tempo = RunningTempo()
    told = 0
    for count, (seconds, place) in enumerate(points, start=1):
        found = tempo.hear(seconds, place)
        if found is not None:
            # The window only ever loses its oldest notes.
            window = points[tempo_window(points, count) : count]
            line = np.polyfit([p for _, p in window], [s for s, _ in window], 1)
            assert abs(found * line[0] / 60.0 - 1.0) < 1e-6
            told += 1
    assert told > 100


def tempo_window(points, count):
    """Where the window begins after so many notes: notes leave it one by one, oldest first."""
    first = 0
    for now in range(1, count + 1):
        while points[now - 1][1] - points[first][1] > SPAN_QUARTERS:
            first += 1
    return first


def test_a_leap_begins_a_new_line():
    tempo = RunningTempo()
    for beat in range(8):
        told = tempo.hear(0.5 * beat, float(beat))
    assert abs(told - 120.0) < 1e-9
    assert tempo.hear(10.0, 40.0) is None
    for beat in range(1, 4):
        told = tempo.hear(10.0 + beat, 40.0 + beat)
    assert abs(told - 60.0) < 1e-9
