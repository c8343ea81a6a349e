"""Questions for a thread: one after the other, and of those that wait only the last."""

from threading import Event

from companion.desktop.last_asked import LastAsked
from companion.errors import CompanionError

LONG_MS = 30_000


def test_of_the_questions_that_wait_only_the_last_is_answered(qtbot):
    may_end, asked, answers = Event(), LastAsked(), []
    asked.answered.connect(answers.append)
    asked.ask(lambda _report: may_end.wait(30) and "first")
    for number in range(5):
        asked.ask(lambda _report, n=number: f"question {n}")
    assert asked.busy
    may_end.set()
    qtbot.waitUntil(lambda: not asked.busy, timeout=LONG_MS)
    assert answers == ["first", "question 4"]


def test_who_is_told_an_answer_may_ask_again(qtbot):
    asked, answers = LastAsked(), []

    def told(answer):
        answers.append(answer)
        if answer < 3:
            asked.ask(lambda _report: answer + 1)

    asked.answered.connect(told)
    asked.ask(lambda _report: 1)
    qtbot.waitUntil(lambda: answers == [1, 2, 3] and not asked.busy, timeout=LONG_MS)


def test_a_sentence_and_a_fault_are_told_apart_and_the_next_question_is_answered(qtbot):
    asked, told = LastAsked(), []
    asked.failed.connect(told.append)
    asked.broke.connect(lambda sentence, _traceback: told.append(sentence))
    asked.answered.connect(told.append)

    def sentence(_report):
        raise CompanionError("The disk is full.")

    def fault(_report):
        raise ValueError("no such thing")

    for number, work in enumerate((sentence, fault, lambda _report: "well"), 1):
        asked.ask(work)
        qtbot.waitUntil(lambda n=number: len(told) == n and not asked.busy, timeout=LONG_MS)
    assert told == ["The disk is full.", "ValueError('no such thing')", "well"]


def test_what_is_closed_answers_nothing_that_waited(qtbot):
    may_end, asked, begun = Event(), LastAsked(), []
    asked.ask(lambda _report: may_end.wait(30))
    asked.ask(lambda _report: begun.append("second"))
    may_end.set()
    asked.close()
    qtbot.waitUntil(lambda: not asked.busy, timeout=LONG_MS)
    assert begun == []
