"""The engraver's door: what goes in comes out, note by note."""

from __future__ import annotations

import pickle
from functools import cache

import music21
import pytest
from lxml import etree

from companion.errors import Cancelled, ScoreUnreadable
from companion.resources import sample_scores_folder
from companion.score.engraving.engraver import engrave
from companion.score.engraving.model import EngravedPage, EngravingSummary, Glyph, Layout, Text
from companion.score.reading.prepare import prepare_score

SAMPLES = sorted(path.name for path in sample_scores_folder().glob("*.musicxml"))
# keyboard pieces of music21's corpus (public domain), with cross-staff voices, graces and pedal
CORPUS = ["mozart/k545/movement1_exposition", "joplin/maple_leaf_rag", "schumann_clara/opus17"]
STEPS = "CDEFGAB"
BOTTOM_LINE = {"G": 4 * 7 + STEPS.index("E"), "F": 2 * 7 + STEPS.index("G")}  # E4 and G2


@cache
def prepared(name: str) -> bytes:
    if name in SAMPLES:
        return prepare_score(sample_scores_folder() / name).musicxml
    found = [p for p in music21.corpus.getPaths(fileExtensions=("mxl", "xml")) if name in str(p)]
    return prepare_score(sorted(found)[0]).musicxml


def engraved(
    musicxml: bytes, layout: Layout | None = None
) -> tuple[EngravingSummary, list[EngravedPage]]:
    pages: dict[int, EngravedPage] = {}

    def take(page: EngravedPage) -> None:
        pages[page.index] = page

    summary = engrave(musicxml, layout or Layout(), emit=take)
    return summary, [pages[index] for index in sorted(pages)]


@cache
def engraved_by_name(name: str) -> tuple[EngravingSummary, list[EngravedPage]]:
    return engraved(prepared(name))


def printed_ids(musicxml: bytes) -> list[str]:
    """Ids of the notes with a head on paper, counted straight from the file."""
    return [
        note.get("id", "")
        for note in etree.fromstring(musicxml).iter("note")
        if note.find("pitch") is not None and note.get("print-object") != "no"
    ]


@pytest.mark.parametrize("name", [*SAMPLES, *CORPUS])
def test_every_printed_note_has_exactly_one_head(name: str):
    _, pages = engraved_by_name(name)
    heads = [head.note_id for page in pages for head in page.noteheads]
    assert sorted(heads) == sorted(printed_ids(prepared(name)))


@pytest.mark.parametrize("name", [*SAMPLES, *CORPUS])
def test_every_measure_is_engraved_once_and_in_order(name: str):
    summary, pages = engraved_by_name(name)
    written = len(etree.fromstring(prepared(name)).findall("part/measure"))
    indices = [measure.measure_index for page in pages for measure in page.measures]
    assert indices == list(range(written))
    assert summary.measures == written
    assert summary.pages == len(pages)


@pytest.mark.parametrize("name", [*SAMPLES, *CORPUS])
def test_heads_lie_in_their_measure_and_on_the_paper(name: str):
    _, pages = engraved_by_name(name)
    for page in pages:
        boxes = {measure.measure_index: measure.box for measure in page.measures}
        for head in page.noteheads:
            box = boxes[head.measure_index]
            assert box.x <= head.box.centre_x <= box.right
            assert 0 < head.box.y < page.height
            assert 0.4 < head.box.height < 1.5


@pytest.mark.parametrize("name", SAMPLES)
def test_heads_stand_on_the_line_that_their_pitch_asks_for(name: str):
    """The rules of the staff: E4 lies on the lowest line of a G clef, G2 on that of an F clef."""
    _, pages = engraved_by_name(name)
    heads = {head.note_id: head for page in pages for head in page.noteheads}
    staves = {m.measure_index: m.staves for page in pages for m in page.measures}
    checked = 0
    clefs: dict[str, str] = {}
    for measure_index, measure in enumerate(etree.fromstring(prepared(name)).iter("measure")):
        if measure.findall(".//octave-shift") or len(measure.findall(".//clef")) > 2:
            continue
        for element in measure.iter("clef", "note"):
            if element.tag == "clef":
                clefs[element.get("number", "1")] = element.findtext("sign", "")
                continue
            if element.find("pitch") is None:
                continue
            staff = element.findtext("staff", "1")
            step = STEPS.index(element.findtext("pitch/step", "C"))
            height = int(element.findtext("pitch/octave", "4")) * 7 + step
            bottom = staves[measure_index][int(staff) - 1].box.bottom
            expected = bottom - (height - BOTTOM_LINE[clefs[staff]]) / 2
            assert heads[element.get("id", "")].box.centre_y == pytest.approx(expected, abs=0.12)
            checked += 1
    assert checked > 100


def test_staves_have_five_lines_one_space_apart():
    _, pages = engraved_by_name(SAMPLES[0])
    for measure in pages[0].measures:
        assert len(measure.staff_lines) == 5 * len(measure.staves)
        for staff in measure.staves:
            assert staff.box.height == pytest.approx(4.0, abs=0.01)


def test_measures_of_a_system_touch_each_other():
    _, pages = engraved_by_name(SAMPLES[0])
    for page in pages:
        for left, right in zip(page.measures, page.measures[1:], strict=False):
            if left.system == right.system:
                assert left.box.right == pytest.approx(right.box.x, abs=0.05)


def test_every_glyph_on_a_page_has_an_outline():
    for name in (*SAMPLES, *CORPUS):
        _, pages = engraved_by_name(name)
        for page in pages:
            shapes = [
                shape
                for measure in page.measures
                for shape in (*measure.shapes, *measure.words_above)
            ]
            codes = {shape.code for shape in shapes if isinstance(shape, Glyph)}
            runs = [run for shape in shapes if isinstance(shape, Text) for run in shape.runs]
            codes |= {run.code for run in runs if run.code}
            assert codes <= set(page.glyphs)
            assert all(page.glyphs[code] for code in codes)


def test_metronome_mark_has_a_note_glyph_with_a_width():
    _, pages = engraved_by_name("evening_by_the_weir.musicxml")
    texts = [s for m in pages[0].measures for s in m.words_above if isinstance(s, Text)]
    runs = [run for text in texts for run in text.runs]
    assert any(run.code.startswith("ECA") and run.advance > 0.5 for run in runs)
    assert any("flowing" in run.text and run.bold for run in runs)


def test_title_and_composer_stand_above_the_first_system():
    layout = Layout(title="Evening by the Weir", composer="A. Composer")
    _, pages = engraved(prepared(SAMPLES[0]), layout)
    title, composer = pages[0].heading
    assert title.runs[0].text == "Evening by the Weir"
    assert composer.y < pages[0].systems[0].outer_box.y
    assert all(not page.heading for page in pages[1:])


def test_without_a_title_there_is_no_heading_and_no_room_for_one():
    _, plain = engraved_by_name(SAMPLES[0])
    _, titled = engraved(prepared(SAMPLES[0]), Layout(title="Evening by the Weir"))
    assert not plain[0].heading
    assert plain[0].systems[0].box.y < titled[0].systems[0].box.y


def test_wider_paper_takes_more_measures_to_a_system():
    _, narrow = engraved(prepared(SAMPLES[0]), Layout.for_width(80))
    _, wide = engraved(prepared(SAMPLES[0]), Layout.for_width(200))
    first_systems = [pages[0].systems[0].last_measure for pages in (narrow, wide)]
    assert first_systems[0] < first_systems[1]


@cache
def engraving_of_a_long_score() -> tuple[list[str], list[EngravedPage]]:
    """What was reported and sent, in order, and the pages as they were sent."""
    musicxml = repeated(prepared("study_in_d_minor.musicxml"), times=2)
    events: list[str] = []
    sent: list[EngravedPage] = []

    def take(page: EngravedPage) -> None:
        events.append(f"page {page.index}")
        sent.append(page)

    engrave(musicxml, Layout(), lambda progress: events.append(progress.doing), take)
    return events, sent


def test_first_page_of_a_long_score_comes_before_the_rest_is_laid_out():
    events, _ = engraving_of_a_long_score()
    assert events.index("page 0") < events.index("Engraving the pages")


def test_no_measure_is_lost_between_the_early_first_page_and_the_second():
    _, sent = engraving_of_a_long_score()
    first = [page for page in sent if page.index == 0][-1]
    second = next(page for page in sent if page.index == 1)
    assert second.measures[0].measure_index == first.measures[-1].measure_index + 1


def repeated(musicxml: bytes, times: int) -> bytes:
    """A longer score: the measures of a shorter one several times over, with new ids."""
    tree = etree.fromstring(musicxml)
    part = tree.find("part")
    assert part is not None
    measures = list(part)
    for _ in range(times - 1):
        part.extend(etree.fromstring(etree.tostring(measure)) for measure in measures)
    for number, note in enumerate(part.iter("note"), 1):
        note.set("id", f"n{number}")
    return etree.tostring(tree)


def test_engraving_twice_gives_the_same_pages():
    assert engraved(prepared(SAMPLES[0])) == engraved(prepared(SAMPLES[0]))


def test_pages_survive_pickling():
    _, pages = engraved_by_name(SAMPLES[0])
    assert pickle.loads(pickle.dumps(pages)) == pages


@pytest.mark.parametrize(
    "broken",
    [
        b"",
        b"no score at all",
        b"<score-partwise/>",
        b"<score-partwise><part id='P1'/></score-partwise>",
        b"<score-partwise><part id='P1'><measure><note>",
    ],
    ids=["empty", "no XML", "no part", "no measure", "cut off"],
)
def test_what_cannot_be_engraved_gets_one_plain_sentence(broken: bytes):
    with pytest.raises(ScoreUnreadable) as caught:
        engrave(broken, Layout())
    assert str(caught.value).endswith(".")


def test_engraving_stops_when_the_person_cancels():
    pages: list[EngravedPage] = []

    def report(progress: object) -> None:
        if pages:
            raise Cancelled

    with pytest.raises(Cancelled):
        engrave(prepared("study_in_d_minor.musicxml"), Layout(), report, pages.append)
    assert len(pages) == 1


def test_external_entities_in_a_score_are_not_read(tmp_path):
    secret = tmp_path / "secret.txt"
    secret.write_text("do not read")
    text = prepared(SAMPLES[0]).decode()
    head = f'<!DOCTYPE score-partwise [<!ENTITY x SYSTEM "file://{secret}">]>'
    start = text.index("<score-partwise")
    hostile = (head + text[start:]).replace("</work>", "&x;</work>", 1).encode()
    pages: list[EngravedPage] = []
    engrave(hostile, Layout(), emit=pages.append)
    assert "do not read" not in repr(pages)
