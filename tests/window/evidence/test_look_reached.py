"""Pages and plan for everybody: words stand out in both themes, keys reach everything, and all of it has a name."""

import pytest
from key_order import reached, told
from test_look_geometry import planned
from test_proof_colours import THEMES, stand_out

from desktop.window.shot import settle

__all__ = ["planned"]


@pytest.mark.parametrize("name", THEMES)
@pytest.mark.parametrize("recording", ["limit-too-high", "reversed-battery-meter", "two-overcast-days"])
def test_every_word_of_a_page_stands_out(looking, name, recording):
    window, dialog = looking(recording)
    window.set_theme(name)
    for page in dialog.pages:
        dialog.show_page(page)
        settle(dialog)
        assert stand_out(dialog) > 8


@pytest.mark.parametrize("name", THEMES)
def test_every_word_of_a_plan_stands_out(open_window, planned, name):
    window = open_window()
    window.set_theme(name)
    dialog = window.plan.show()
    dialog.take(planned)
    settle(dialog)
    assert stand_out(dialog) > 40


@pytest.mark.parametrize("recording", ["limit-too-high", "reversed-battery-meter"])
def test_keys_reach_everything_on_every_page(looking, recording):
    _, dialog = looking(recording)
    for page in dialog.pages:
        dialog.show_page(page)
        settle(dialog)
        told(reached(dialog, dialog.names), dialog)


def test_keys_reach_everything_of_a_plan(open_window, planned):
    dialog = open_window().plan.show()
    dialog.take(planned)
    dialog.form.appliances.add.click()
    settle(dialog)
    told(reached(dialog, dialog.begin), dialog)
