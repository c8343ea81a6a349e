"""``companion harmony`` on a sample score that was composed for this project."""

import itertools
import json

from companion import command_line
from companion.resources import sample_scores_folder

MINUET = sample_scores_folder() / "minuet_and_trio_in_d_major.musicxml"


def test_harmony_as_json_tiles_the_piece_and_begins_and_ends_at_home(capsys) -> None:
    assert command_line.main(["harmony", str(MINUET), "--json"]) == 0
    spans = json.loads(capsys.readouterr().out)["spans"]
    assert spans[0]["start"] == 0
    assert all(a["end"] == b["start"] for a, b in itertools.pairwise(spans))
    assert spans[0]["key"] == "D"
    assert spans[0]["measure"] in ("0", "1")
    assert {"numeral", "degree", "quality", "inversion", "confidence"} <= set(spans[0])
    assert any(span["degree"] == "V" and span["key"] == "D" for span in spans)


def test_harmony_for_people_names_the_key_first(capsys) -> None:
    assert command_line.main(["harmony", str(MINUET)]) == 0
    assert capsys.readouterr().out.startswith("D major\n")


def test_a_missing_score_is_one_plain_sentence(capsys) -> None:
    assert command_line.main(["harmony", "nowhere.musicxml"]) == 1
    told = capsys.readouterr().err
    assert "nowhere" in told
    assert told.count("\n") == 1
