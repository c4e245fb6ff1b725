"""The report as HTML: complete, in order, with the review's own numbers, and sufficient to itself."""

import re
from itertools import pairwise
from xml.etree import ElementTree

import pytest
from report_reading import cells, read_html
from report_reviews import NAMES, demo

from desktop import languages, words
from desktop.charging.energy import Energy
from desktop.picture.palette import contrast
from desktop.report.account import Account
from desktop.report.digits import places
from desktop.report.html import report_html, write_html
from desktop.report.incidents import incidents_of
from desktop.review import Review, review
from desktop.review.as_text import limit_set
from desktop.review.corrected import Figures, figures_of
from desktop.words import tr
from recordings.errors import WriteError


@pytest.fixture(params=NAMES)
def shown(request):
    found = demo(request.param)
    return found, read_html(report_html(found))


def figures(found: Review) -> Figures:
    """Which review the page's figures are told from."""
    return figures_of(found, review)


@pytest.fixture
def another_language():
    """A language in which every word is its English one, upside down but for its values."""
    code = "the code of this language (BCP 47)\x04en"
    words.speak(lambda text: "eo" if text == code else re.sub(r"\b[a-z]+\b(?![^{]*\})", "kato", text), ",")
    yield
    words.speak(str)


def test_the_page_tells_what_was_recorded_the_verdict_and_what_to_do_before_anything_else(shown):
    found, page = shown
    told = page.text
    first = told.index("How it went")
    assert page.attributes == {}
    assert next(page.every("h1")).text == found.site.site.name
    for finding in [one for one in found.findings if one.severity == "act now"]:
        assert str(finding.title) in told[:first]
    assert "What to do" in told[:first]
    assert next(page.every("figure")).attributes["id"] == "figure-1"
    assert told.index("Figure 1.") < first


def test_every_finding_is_there_with_cause_and_advice_and_no_cause_twice(shown):
    found, page = shown
    for finding in figures(found).findings:
        texts = (finding.title, finding.cause) if finding.kind == "limit_above_rating" else ()
        for phrase in texts or (finding.title, finding.text, finding.cause):
            assert " ".join(str(phrase).split()) in page.text
        if str(finding.cause):
            assert page.text.count(" ".join(str(finding.cause).split())) == 1
    first = page.text[: page.text.index("How it went")]
    for incident in (one[0] for one in Account(figures(found)).pressing):
        assert str(incident.main.advice) in first


def test_incidents_stand_in_order_of_time(shown):
    found, page = shown
    marked = list(page.with_id("findings").every("section"))
    incidents = incidents_of(figures(found))
    assert [one.text.partition(":")[0] for one in marked] == [one.severity for one in incidents]
    assert [one.title in block.text for one, block in zip(incidents, marked, strict=True)] == [True] * len(
        marked
    )


def test_each_moment_that_calls_for_action_has_its_picture(shown):
    found, page = shown
    captions = " ".join(one.text for one in page.every("figcaption"))
    urgent = [one for one in found.findings if one.severity == "act now"]
    assert all(f"{finding.title}: " in captions for finding in urgent)
    assert len(list(page.every("figure"))) >= 2 + len(urgent)
    low = [one for one in found.findings if one.kind == "battery_low"]
    assert all("Battery low: " in captions for _ in low)


def test_pictures_are_drawn_in_place_well_formed_and_numbered(shown):
    found, page = shown
    figures = list(page.every("figure"))
    assert [one.attributes["id"] for one in figures] == [f"figure-{n + 1}" for n in range(len(figures))]
    for number, figure in enumerate(figures, start=1):
        assert next(figure.every("figcaption")).text.startswith(f"Figure {number}. ")
        assert next(figure.every("svg")).attributes["role"] == "img"
    for svg in re.findall(r'<div class="picture">(<svg.*?</svg>)</div>', report_html(found), re.DOTALL):
        root = ElementTree.fromstring(svg)
        assert root.find("title").text
        assert len(list(root.iter("path"))) > 3


def test_what_led_to_a_finding_is_told_once_with_its_times(shown):
    found, page = shown
    told = page.with_id("findings").text
    for chain in found.chains:
        for link in chain.links:
            assert str(link.text) in told
    assert told.count("What led to it:") == len({chain.links for chain in found.chains if chain.links})


def amounts(energy: Energy) -> dict[str, str]:
    """What the report calls each energy → the review's key."""
    return {
        "Generator": "generator",
        "From the grid": "grid_in",
        "To the grid": "grid_out",
        "Solar": "solar",
        "House loads": "load",
        "DC loads": "dc_load",
        "Into the battery": "battery_in",
        "Out of the battery": "battery_out",
        "Losses": "losses",
        "Unaccounted": "unaccounted",
    }


def test_the_numbers_of_the_energy_tables_are_those_of_the_json(shown):
    found, page = shown
    told = figures(found).review.as_json()["energy_kwh"]
    much, ways = page.with_id("energy").every("table")
    names = amounts(found.energy)
    rows = {row[0]: row[1:] for row in cells(much)[1:]}
    for name, (kwh, spread, *_) in rows.items():
        sd = told["sd"][names[name]]
        assert kwh == words.decimal(told[names[name]], places(sd))
        assert abs(float(spread.strip("<").strip()) - sd) <= 0.5 * 10.0 ** -places(sd) + 0.01
        assert len(spread.replace(".", "").lstrip("0< ")) <= 2
    for name, key in names.items():
        assert (name in rows) or abs(told[key]) < 0.005
    sinks = {"To the house": "load", "To the battery": "battery", "To losses": "losses"}
    sources = {"Generator": "generator", "Solar": "solar", "Battery": "battery"}
    head, *body, sums = cells(ways)
    for row in body:
        shares = told["source_to_sink"][sources[row[0]]]
        for name, cell in zip(head[1:-1], row[1:-1], strict=True):
            assert float(cell) == pytest.approx(shares[sinks[name]], abs=0.0501)
        assert float(row[-1]) == pytest.approx(sum(shares.values()), abs=0.0501)
    for column, name in enumerate(head[1:-1], start=1):
        in_all = sum(shares[sinks[name]] for shares in told["source_to_sink"].values())
        assert float(sums[column]) == pytest.approx(in_all, abs=0.0501)


def test_the_numbers_of_the_sessions_are_those_of_the_json(shown):
    found, page = shown
    rows = {row[0]: row[1:] for row in cells(next(page.with_id("course").every("table")))}
    sessions = figures(found).review.as_json()["sessions"]
    for column, session in enumerate(sessions):
        for name, key in (
            ("Generator, kWh", "generator_kwh"),
            ("To the house, kWh", "to_load_kwh"),
            ("To the battery, kWh", "to_battery_kwh"),
            ("Lost, kWh", "losses_kwh"),
        ):
            assert float(rows[name][column]) == pytest.approx(session[key], abs=0.0501)
        levels = f"{session['soc_start']:.0f} → {session['soc_end']:.0f} %"
        assert rows["State of charge"][column] == levels
        assert rows["Mean load"][column] == f"{100 * session['mean_load_share']:.0f} %"
        assert float(rows["Fuel, L"][column]) == pytest.approx(session["fuel"]["amount"], abs=0.0501)


def test_a_quantity_of_a_session_is_told_in_one_place_only(shown):
    _, page = shown
    assert not list(page.with_id("fuel").every("table"))
    names = [row[0] for row in cells(next(page.with_id("course").every("table")))]
    assert names.count("Duration") == 1


def test_every_check_the_advice_the_fuel_and_the_forecasts_are_told(shown):
    found, page = shown
    found = figures(found).review
    checks = page.with_id("checks").text
    assert all(str(one.title) in checks and str(one.means) in checks for one in found.checks)
    unknown = [one for one in found.checks if one.state == "unknown"]
    assert f"Checks that were not possible: {len(unknown)}." in checks
    assert f"{sum(one.amount for one in found.fuel.sessions if one is not None):.1f} " in page.text
    said = [one for quarters in found.forecasts for one in quarters if one is not None and one.targets]
    assert len(cells(next(page.with_id("forecast").every("table")))) == 1 + len(said)


def test_the_limit_that_is_set_and_the_one_that_is_advised_have_rows(shown):
    found, page = shown
    found = figures(found).review
    if not found.limit_advice.settings:
        return
    table = cells(next(page.with_id("advice").every("table")))
    head, *rows = table
    assert "Chance of a trip in a run" in head
    (now,) = [row for row in rows if "set now" in row[0]]
    assert words.current(limit_set(found)) in now[1]
    (advised,) = [row for row in rows if "advised" in row[0]]
    if "set now" not in advised[0]:
        assert advised[1] == words.current(found.limit_advice.best.limit_a)
    assert "from the reserve of" in next(page.with_id("advice").every("caption")).text


def test_what_is_assumed_is_marked_as_assumed(shown):
    found, page = shown
    section = page.with_id("settings")
    rows = cells(next(section.every("table")))[1:]
    assert ["Generator", "Power factor", "1", "assumed"] in rows
    assert ["Meters", "all others", "2 % of the reading, and 15 W", "assumed"] in rows
    assert {row[3] for row in rows} <= {"assumed", "from this recording"}
    told = section.text.partition("By the site sheet:")[2]
    assert f"Continuous rating {words.power(found.site.generator.rated_w)};" in told


def test_nothing_is_fetched_and_nothing_runs(shown):
    found, page = shown
    text = report_html(found)
    assert "http:" not in text
    assert "https:" not in text
    assert "@import" not in text
    assert not re.findall(r"url\((?!#)", text)
    for element in page.every():
        assert element.tag not in ("script", "link", "iframe", "object", "img", "base", "form")
        assert not {"src", "srcset", "xlink:href"} & set(element.attributes)
        assert element.attributes.get("href", "#").startswith("#")
        assert not [name for name in element.attributes if name.startswith("on")]
    policy = [each for each in page.every("meta") if "http-equiv" in each.attributes]
    assert policy[0].attributes["content"].startswith("default-src 'none'")


def test_names_are_given_once_and_every_reference_leads_somewhere(shown):
    found, page = shown
    ids = [one.attributes["id"] for one in page.every() if "id" in one.attributes]
    assert len(ids) == len(set(ids))
    links = [one.attributes["href"][1:] for one in page.every("a")]
    assert links
    used = set(re.findall(r"url\(#([^)]+)\)", report_html(found)))
    assert (set(links) | used) <= set(ids)


def test_headings_are_in_order_and_tables_tell_what_they_are(shown):
    _, page = shown
    levels = [int(one.tag[1]) for one in page.every("h1", "h2", "h3", "h4")]
    assert levels[0] == 1
    assert levels.count(1) == 1
    assert all(later - earlier <= 1 for earlier, later in pairwise(levels))
    for table in page.every("table"):
        assert next(table.every("caption")).text
        assert {one.attributes.get("scope") for one in table.every("th")} == {"col", "row"}
        head, *rows = cells(table)
        assert all(len(row) == len(head) for row in rows)
    assert next(page.every("html")).attributes["lang"] == "en"


def test_texts_stand_out_from_their_ground_in_both_themes():
    css = re.search(r"<style>(.*?)</style>", report_html(demo("load-step")), re.DOTALL)[1]
    roots = [
        dict(re.findall(r"--([\w-]+): (#\w{6});", one))
        for one in re.findall(r":root \{(.*?)\}", css, re.DOTALL)
    ]
    assert len(roots) == 2
    for colours in roots:
        for text in ("text", "muted", "act-now", "attend", "note"):
            for ground in ("ground", "tint"):
                assert contrast(colours[text], colours[ground]) >= 4.5, (text, ground)
    # Every colour of a text is one of those, or that of what is around it.
    used = re.findall(r"(?<![\w-])color: ([^;}]+)", css)
    assert set(used) <= {f"var(--{name})" for name in ("text", "muted", "act-now", "attend", "note")} | {
        "inherit"
    }


def test_paper_gets_light_colours_and_the_page_follows_the_screen():
    css = re.search(r"<style>(.*?)</style>", report_html(demo("load-step")), re.DOTALL)[1]
    assert "@media screen and (prefers-color-scheme: dark)" in css
    printed = css[css.index("@media print") :]
    assert "thead { display: table-header-group; }" in printed
    assert "break-inside: avoid" in printed


def test_the_pictures_can_be_dark():
    assert 'fill="#1b2022"' in report_html(demo("load-step"), theme="dark")
    assert 'fill="#1b2022"' not in report_html(demo("load-step"))


@pytest.mark.usefixtures("another_language")
def test_the_page_is_written_in_the_language_that_is_spoken():
    page = read_html(report_html(demo("limit-too-high")))
    assert next(page.every("html")).attributes["lang"] == "eo"
    assert "5,86 kW" in page.text
    assert "5.86 kW" not in page.text
    assert next(page.with_id("findings").every("h2")).text == tr("Findings")


@pytest.mark.parametrize("language", sorted(languages.NAMES))
def test_it_can_be_written_in_every_language(language):
    languages.use(language)
    try:
        page = read_html(report_html(demo("limit-too-high")))
        assert words.power(5860.0) in page.text
        assert tr("Energy") in [one.text for one in page.every("h2")]
    finally:
        languages.use("en")


def test_the_same_review_gives_the_same_page():
    assert report_html(demo("load-step")) == report_html(demo("load-step"))


def test_a_narrow_screen_has_pictures_of_its_own(shown):
    _, page = shown
    for figure in page.every("figure"):
        wide, narrow = (float(svg.attributes["viewbox"].split()[2]) for svg in figure.every("svg"))
        assert narrow <= 430 < wide


def test_it_is_written_whole_or_not_at_all(tmp_path):
    write_html(demo("load-step"), tmp_path / "report.html")
    written = (tmp_path / "report.html").read_text(encoding="utf-8")
    assert written == report_html(demo("load-step"))
    with pytest.raises(WriteError):
        write_html(demo("load-step"), tmp_path / "missing" / "report.html")
    assert [each.name for each in tmp_path.iterdir()] == ["report.html"]
