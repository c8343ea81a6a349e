import struct

from hypothesis import given
from hypothesis import strategies as st

from companion.history.model import RawEvent
from companion.storage.packing import pack_events, unpack_events

messages = st.binary(min_size=2, max_size=3)
events = st.builds(RawEvent, st.floats(min_value=0, max_value=1e6, allow_nan=False), messages)


@given(st.lists(events))
def test_events_come_back_exactly(played):
    assert unpack_events(pack_events(played)) == tuple(played)


@given(st.lists(events), st.lists(events))
def test_chunks_may_be_joined_by_joining_their_bytes(first, second):
    assert unpack_events(pack_events(first) + pack_events(second)) == (*first, *second)


@given(st.lists(events, min_size=1), st.data())
def test_bytes_cut_short_give_the_events_before_the_cut(played, data):
    packed = pack_events(played)
    cut = data.draw(st.integers(0, len(packed) - 1))
    read = unpack_events(packed[:cut])
    assert read == tuple(played[: len(read)])
    assert len(pack_events(played[: len(read) + 1])) > cut


def test_a_record_is_as_the_module_says():
    # IEEE 754: 0.5 is sign 0, exponent 1022, fraction 0; middle C struck with velocity 100
    assert pack_events([RawEvent(0.5, b"\x90\x3c\x64")]) == (
        b"\x00\x00\x00\x00\x00\x00\xe0\x3f" + b"\x03" + b"\x90\x3c\x64"
    )
    assert struct.unpack("<d", b"\x00\x00\x00\x00\x00\x00\xe0\x3f") == (0.5,)
