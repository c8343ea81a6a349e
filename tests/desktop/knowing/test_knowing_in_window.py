"""The rules of the piece on the stand: changed in the window, kept, undone, and judged by."""

from companion.desktop.knowing.rules_dialog import RulesDialog
from companion.history.knowing.clean import Thresholds
from companion.history.knowing.rules import CLEAN_RULES
from tests.desktop.conftest import LONG_MS

OWN = Thresholds(errors_per_100=4.0, stops=1)


def test_new_rules_are_kept_judge_at_once_and_can_be_undone(companion, qtbot):
    knowing = companion.further.knowing
    qtbot.waitUntil(lambda: knowing.standing is not None, timeout=LONG_MS)
    assert knowing.standing.rules == Thresholds()

    knowing.ask_for_rules()
    dialog = companion.window.findChild(RulesDialog)
    dialog.show_rules(OWN)
    dialog._accepted()
    assert companion.stand.document(CLEAN_RULES)
    qtbot.waitUntil(lambda: knowing.standing.rules == OWN, timeout=LONG_MS)

    companion.window.actions_by_id["undo"].trigger()
    assert companion.stand.document(CLEAN_RULES) == ""
    qtbot.waitUntil(lambda: knowing.standing.rules == Thresholds(), timeout=LONG_MS)
