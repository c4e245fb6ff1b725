"""`headrace review` in another language."""

import json

import pytest

from desktop import languages
from desktop.app import main
from desktop.opening import demos

STEP = next(demo.path for demo in demos() if demo.path.stem == "load-step")


@pytest.fixture(autouse=True)
def english_again():
    yield
    languages.use("en")


def test_the_review_is_told_in_the_language_that_was_asked_for(capsys):
    assert main(["review", str(STEP), "--language", "de"]) == 0
    text = capsys.readouterr().out
    assert "Der Eingangsstrom erreichte 42,2 A bei einer AC-Eingangsgrenze von 30,0 A, 14 s lang." in text
    assert "  Generator            5,14 ± 0,04 kWh" in text
    assert "Findings" not in text


def test_it_is_told_in_english_where_none_was_asked_for(capsys):
    languages.use("de")
    assert main(["review", str(STEP)]) == 0
    assert "The input current reached 42.2 A on an input limit of 30.0 A for 14 s." in capsys.readouterr().out


TOLD = frozenset({"title", "text", "cause", "advice", "means", "how", "lack"})
"""Keys under which there are sentences, and not numbers or names."""


def untold(value):
    """The same without sentences."""
    if isinstance(value, dict):
        return {
            key: "" if key in TOLD or (key == "unknown" and value[key]) else untold(each)
            for key, each in value.items()
        }
    return [untold(each) for each in value] if isinstance(value, list) else value


def test_numbers_and_keys_of_the_json_are_the_same_in_every_language(capsys):
    assert main(["review", str(STEP), "--json", "-", "--language", "de"]) == 0
    german = json.loads(capsys.readouterr().out)
    assert main(["review", str(STEP), "--json", "-"]) == 0
    english = json.loads(capsys.readouterr().out)
    assert untold(german) == untold(english)
    assert german["findings"][0]["title"] != english["findings"][0]["title"]


def test_a_language_that_is_not_spoken_is_refused(capsys):
    with pytest.raises(SystemExit) as left:
        main(["review", str(STEP), "--language", "tlh"])
    assert left.value.code == 2
    assert "de" in capsys.readouterr().err
