"""Looking after hands and ears: playing time, breaks, sudden rises, and what to say about pain.

Sources
-------
- Playing-related disorders are common among pianists (26 to 93 % over studies: Bragge et al. 2006,
  Occup. Med. 56:28-38), what causes them is not well known (Rotter et al. 2020,
  doi:10.1007/s00420-019-01467-8). The student information of NASM and PAMA advises to warm up, to
  take regular breaks, to avoid sudden increases of practice, and to ask a medical professional.
- Breaks: five minutes after 25 to 30 of playing (common practice); ten minutes in each hour of
  playing at least (advice to musicians, read in secondary sources). A rise of more than 20 % over
  the mean of four weeks is worth a word: common practice, no study sets a bound.
- Hearing: NIOSH 1998 (publication 98-126): 85 dBA for 8 hours, half the time for 3 dB more.

Nothing here judges pain or gives medical advice; the texts send to those who can. A prompt never
blocks anything.
"""

from __future__ import annotations

import json
from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from itertools import pairwise

from companion.history.days import DAY_STARTS_AT_HOUR, practice_day
from companion.history.model import Entry, RawEvent, Take, new_id

PLAYING_BEFORE_BREAK_MINUTES = 25.0
BREAK_MINUTES = 5.0
LONGEST_GAP_SECONDS = 10.0
"""A silence inside a take counts as playing up to this length (project convention)."""

RISE_SHARE = 0.2
WEEKS_COMPARED = 4
FEWEST_WEEKS = 2
SMALLEST_MEAN_MINUTES = 60.0
"""Below this a week is too little for a rise to mean anything (project convention)."""

DISCOMFORT = "discomfort"
"""Kind of the entries that note discomfort."""

OVERUSE_CAUTION = (
    "Stop if anything hurts, tingles or goes numb. Rest, and if it comes back or lasts more than a "
    "few days, see a doctor or physiotherapist who knows musicians, and tell your teacher. This "
    "program cannot judge pain and gives no medical advice."
)
HEARING_CAUTION = (
    "Keep headphones at a level where you could still hear someone speak. The limit that "
    "is advised for work in noise is 8 hours a day at 85 dBA, and 1 hour at 94 dBA. If sounds are "
    "dull or your ears ring after playing, give them rest, and if that stays, see a doctor."
)
WARM_UP = "Warm up with something that is not this piece; then the first takes."
STOPPED_FOR_TODAY = "Noted. The plan of today stops here."

_NOTE_STATUSES = (0x80, 0x90)


@dataclass(frozen=True, slots=True)
class PlayedSpan:
    """A stretch of playing: its first moment (UTC), the zone of the player, and how long."""

    started_at: datetime
    zone: str
    seconds: float

    @property
    def ended_at(self) -> datetime:
        """Its last moment."""
        return self.started_at + timedelta(seconds=self.seconds)


@dataclass(frozen=True, slots=True, kw_only=True)
class SinceBreak:
    """Playing since the last pause; ``prompt`` is a plain sentence once a break is due."""

    playing_minutes: float
    began_at: datetime | None
    prompt: str | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class WeeklyTime:
    """The last seven days beside the weeks before.

    Parameters
    ----------
    minutes
        Of the last seven days, today among them.
    mean_minutes
        Of the four times seven days before, those with playing; None with too few of them.
    warning
        A plain sentence when the rise is sudden; None otherwise.
    """

    minutes: float
    mean_minutes: float | None
    warning: str | None = None


def spans_of(take: Take) -> tuple[PlayedSpan, ...]:
    """Return the stretches of playing in a take.

    With its events silences longer than :data:`LONGEST_GAP_SECONDS` are left out; without them the
    take counts as a whole.
    """
    strokes = [event.at_seconds for event in take.events if _is_note(event)]
    if not strokes:
        return (PlayedSpan(take.started_at, take.zone, max(take.duration_seconds, 0.0)),)
    edges = [strokes[0]]
    for one, other in pairwise(sorted(strokes)):
        if other - one > LONGEST_GAP_SECONDS:
            edges += [one, other]
    edges.append(max(strokes))
    return tuple(
        PlayedSpan(take.started_at + timedelta(seconds=begin), take.zone, end - begin)
        for begin, end in zip(edges[::2], edges[1::2], strict=True)
    )


def _is_note(event: RawEvent) -> bool:
    return bool(event.message) and event.message[0] & 0xF0 in _NOTE_STATUSES


def minutes_by_day(
    spans: Iterable[PlayedSpan], day_starts_at_hour: int = DAY_STARTS_AT_HOUR
) -> dict[date, float]:
    """Return minutes played by practice day; what overlaps is counted once."""
    found: dict[date, float] = defaultdict(float)
    for span in without_overlap(spans):
        day = practice_day(span.started_at, span.zone, day_starts_at_hour)
        found[day] += span.seconds / 60.0
    return dict(found)


def without_overlap(spans: Iterable[PlayedSpan]) -> tuple[PlayedSpan, ...]:
    """Return the spans in order, each moment in one of them only.

    The same playing can be there twice: recorded here and imported from the piano's own memory.
    """
    found: list[PlayedSpan] = []
    behind: datetime | None = None
    for span in sorted(spans, key=lambda each: (each.started_at, each.seconds)):
        begin = span.started_at if behind is None else max(span.started_at, behind)
        seconds = (span.ended_at - begin).total_seconds()
        if seconds > 0:
            found.append(PlayedSpan(begin, span.zone, seconds))
            behind = span.ended_at
    return tuple(found)


def since_break(
    spans: Iterable[PlayedSpan],
    now: datetime,
    *,
    after_minutes: float = PLAYING_BEFORE_BREAK_MINUTES,
    break_minutes: float = BREAK_MINUTES,
) -> SinceBreak:
    """Return how long was played since the last pause, and whether a break is due.

    Parameters
    ----------
    now
        The moment that is asked about; what comes later is left out. A pause that lasts until now
        counts as well.
    after_minutes
        Playing time after which a break is due; pauses between takes do not count.
    break_minutes
        A silence of this length is a break.
    """
    pause = timedelta(minutes=break_minutes)
    seconds = 0.0
    began: datetime | None = None
    ended: datetime | None = None
    for span in without_overlap(each for each in spans if each.started_at <= now):
        end = min(span.ended_at, now)
        if ended is not None and span.started_at - ended >= pause:
            seconds, began = 0.0, None
        began = began or span.started_at
        seconds += (end - span.started_at).total_seconds()
        ended = end
    if ended is None or now - ended >= pause:
        return SinceBreak(playing_minutes=0.0, began_at=None)
    minutes = seconds / 60.0
    prompt = None
    if minutes >= after_minutes:
        prompt = f"You have played for {round(minutes)} minutes: a break of five would be good."
    return SinceBreak(playing_minutes=minutes, began_at=began, prompt=prompt)


def weekly_time(by_day: Mapping[date, float], today: date) -> WeeklyTime:
    """Return the playing time of the last seven days beside that of the weeks before.

    Weeks are counted back from today, so that none is half over. Weeks without playing (holidays)
    do not lower the mean, but the first full week after two of them is no habit yet either: with
    fewer than :data:`FEWEST_WEEKS` weeks nothing is said.
    """

    def week(number: int) -> float:
        last = today - timedelta(days=7 * number)
        return sum(by_day.get(last - timedelta(days=back), 0.0) for back in range(7))

    minutes = week(0)
    before = [played for number in range(1, WEEKS_COMPARED + 1) if (played := week(number)) > 0]
    if len(before) < FEWEST_WEEKS:
        return WeeklyTime(minutes=minutes, mean_minutes=None)
    mean = sum(before) / len(before)
    warning = None
    if mean >= SMALLEST_MEAN_MINUTES and minutes > (1.0 + RISE_SHARE) * mean:
        warning = (
            f"{_hours(minutes)} in the last seven days, {_hours(mean)} a week before that. Hands "
            "get used to more only slowly: shorter days now are no loss."
        )
    return WeeklyTime(minutes=minutes, mean_minutes=mean, warning=warning)


def _hours(minutes: float) -> str:
    if minutes < 90:
        return f"{round(minutes)} minutes"
    hours = round(minutes / 30) / 2
    return f"{hours:g} hours"


def discomfort_entry(
    happened_at: datetime,
    zone: str,
    note: str = "",
    entry_id: str | None = None,
    *,
    taken_back: bool = False,
) -> Entry:
    """Return the note that something hurt, or that this was a mistake; it belongs to no piece."""
    content: dict[str, object] = {"note": " ".join(note.split())}
    if taken_back:
        content["taken_back"] = True
    return Entry(
        entry_id=entry_id or new_id(),
        piece_id=None,
        kind=DISCOMFORT,
        happened_at=happened_at,
        zone=zone,
        content=json.dumps(content, ensure_ascii=False),
    )


def discomfort_note(entry: Entry) -> str | None:
    """Return the words of a note of discomfort; None for any other entry."""
    if entry.kind != DISCOMFORT:
        return None
    try:
        return str(json.loads(entry.content)["note"])
    except (ValueError, KeyError, TypeError):
        return ""  # a note nobody can read still says that something hurt


def discomfort_on(
    entries: Sequence[Entry], day: date, day_starts_at_hour: int = DAY_STARTS_AT_HOUR
) -> bool:
    """Whether discomfort was noted on a practice day and not taken back: its plan stops then."""
    of_day = [
        entry
        for entry in entries
        if entry.kind == DISCOMFORT
        and practice_day(entry.happened_at, entry.zone, day_starts_at_hour) == day
    ]
    if not of_day:
        return False
    return not _is_taken_back(max(of_day, key=lambda entry: entry.happened_at))


def _is_taken_back(entry: Entry) -> bool:
    try:
        return json.loads(entry.content)["taken_back"] is True
    except (ValueError, KeyError, TypeError):
        return False


def hours_at_level(level_dba: float) -> float:
    """Return the most hours a day that NIOSH recommends: ``8 / 2 ** ((level - 85) / 3)``."""
    hours: float = 8.0 / 2.0 ** ((level_dba - 85.0) / 3.0)
    return hours
