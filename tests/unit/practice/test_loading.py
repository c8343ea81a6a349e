"""Loading a score in steps: what is handed out when, and what is kept; demo data."""

from __future__ import annotations

import shutil

import pytest

from companion.analysis.form import propose_section_map
from companion.errors import Cancelled
from companion.practice import loading
from companion.practice.kept import LoadedScore, kept_score
from companion.practice.lent_score import LentScore, lend_loaded, with_score
from companion.practice.loading import PreparedFile, load_file, sections_of_form
from companion.resources import sample_scores_folder
from companion.score.sections.proposal import propose_sections


@pytest.fixture(scope="module")
def folder(tmp_path_factory):
    return tmp_path_factory.mktemp("cache")


@pytest.fixture(scope="module")
def path(tmp_path_factory):
    path = tmp_path_factory.mktemp("scores") / "mine.musicxml"
    shutil.copy(sample_scores_folder() / "the_footbridge.musicxml", path)
    return str(path)


@pytest.fixture(scope="module")
def handed_out(path, folder):
    parts = []
    load_file(path, None, folder, emit=parts.append)
    return parts


def test_a_new_score_is_handed_out_before_its_form_is_known(handed_out):
    file, loaded = handed_out
    assert isinstance(file, PreparedFile)
    assert isinstance(loaded, LoadedScore)
    assert loaded.read.score_hash == file.score_hash
    assert not loaded.form_known
    assert loaded.proposal == propose_sections(loaded.read.score)


def test_the_form_is_found_by_a_worker_that_is_told_the_name_and_is_kept(handed_out, path, folder):
    file, loaded = handed_out
    assert not kept_score(folder, file.score_hash, None).form_known  # should the program end now
    lent = lend_loaded(loaded, folder)
    assert isinstance(lent, LentScore)
    sections = with_score(sections_of_form, lent, file.key, folder)
    assert sections == propose_section_map(loaded.read.score)
    kept = kept_score(folder, file.score_hash, None)
    assert kept.form_known
    assert kept.proposal == sections
    again = []
    load_file(path, None, folder, emit=again.append)
    assert again[0] == PreparedFile.of(again[1])
    assert again[1].form_known
    assert again[1].read.score == loaded.read.score


def test_where_the_form_trips_the_printed_signs_make_the_sections(
    handed_out, tmp_path, monkeypatch, caplog
):
    def trip(*_):
        raise ZeroDivisionError

    monkeypatch.setattr("companion.analysis.form.propose_section_map", trip)
    score = handed_out[1].read.score
    assert sections_of_form(score, "key", tmp_path) == propose_sections(score)
    assert "could not be analysed" in caplog.text


def test_the_search_for_the_form_can_be_cancelled_and_keeps_nothing(handed_out, tmp_path):
    def stop(_progress):
        raise Cancelled

    with pytest.raises(Cancelled):
        sections_of_form(handed_out[1].read.score, "key", tmp_path, stop)
    assert loading.ScoreCache(tmp_path).get("key", loading.PROPOSED_SECTIONS) is None
