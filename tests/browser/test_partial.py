"""The look-up asks only what matters: what is settled is said at once, and what is not asked is never taken as "no"."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any
from urllib.parse import parse_qsl

import pytest

from tests.browser.conftest import Site
from tests.browser.looking_up import (
    ask,
    case,
    choose,
    fragment,
    group,
    head,
    read,
    shown_case,
    type_number,
    unfold,
    without,
)
from tests.browser.making import changed, make_site, put

Open = Callable[..., Any]
PROTOCOLS = Path(__file__).parent.parent / "protocols"
ALLERGIES = ["methacrylate-allergy", "eugenol-allergy", "rosin-allergy", "amalgam-metal-allergy"]
COMPOSITE = without(case(restoration="composite"), "metal-contact", "amalgam-restricted")
"""A case of the demonstration that is finished without two of its factors."""


@pytest.fixture(scope="session")
def unforced(demonstration: Path, tmp_path_factory: pytest.TempPathFactory) -> Site:
    """The demonstration's site where nothing is asked for its own sake: no factor `always_ask`, no stop question."""
    folder = tmp_path_factory.mktemp("unforced")
    protocol = changed(demonstration, folder, {r"^stop_questions:\n(?:  .*\n)+": ""})
    place = protocol / "protocol.yaml"
    place.write_text(place.read_text("utf-8").replace("    always_ask: yes\n", ""), "utf-8")
    return Site(put(make_site(protocol), folder / "site"), "")


def focused(page: Any) -> str:
    """The question in which the focus is."""
    return str(page.evaluate("document.activeElement.closest('fieldset')?.id ?? ''"))


# --- what is asked ----------------------------------------------------------------------------------------------------


def test_an_exposed_pulp_settles_the_case_at_once(unforced: Site, open_page: Open) -> None:
    page = open_page(unforced.address)
    choose(page, "exposed", "yes")
    assert head(page) == "Stop: Assess the pulp first"
    assert read(page, "#look-count") == "Finished: 1 answered, 9 can change nothing"
    assert group(page, "given") == ["exposed"]
    assert len(group(page, "idle")) == 9
    assert page.locator(".ask:visible").count() == 1
    assert read(page, "#look-idle").startswith("Can change nothing now: Remaining dentine thickness, Pulp diagnosis,")


def test_a_factor_that_is_always_asked_is_asked_before_the_case_is_finished(site: Site, open_page: Open) -> None:
    page = open_page(site.address)
    choose(page, "exposed", "yes")
    assert read(page, "#look-count") == "Not finished: 4 questions are asked in every case"
    assert group(page, "next") + group(page, "always") == ALLERGIES
    assert not page.locator("#look-result").is_visible()
    told = read(page, "#look-part")
    assert "Settled already Management: Assess the pulp first" in told
    assert "Place nothing until this is done: Assess the pulp first" in told
    assert "Not needed" not in told
    assert "This no longer depends on: Remaining dentine thickness, Pulp diagnosis," in told
    for name in ALLERGIES:
        assert group(page, "next") == [name]
        choose(page, name, "no")
    assert head(page) == "Stop: Assess the pulp first"
    assert read(page, "#look-count") == "Finished: 5 answered, 5 can change nothing"


def test_the_next_question_is_set_off_and_what_can_change_nothing_is_folded_away(site: Site, open_page: Open) -> None:
    page = open_page(site.address)
    given = {"exposed": "no", "pulp": "normal", "methacrylate-allergy": "no", "restoration": "composite"}
    for name, value in given.items():
        choose(page, name, value)
    assert group(page, "given") == ["exposed", "pulp", "restoration", "methacrylate-allergy"]  # as they were answered;
    assert page.locator(".ask-set > [data-group='given']").count() == 1  # what one question asks keeps together
    assert group(page, "next") == ["eugenol-allergy"]
    assert group(page, "rest") == ["rdt"]
    assert group(page, "always") == ["rosin-allergy", "amalgam-metal-allergy"]
    heads = page.locator(".ask-group").all_inner_texts()
    assert heads == ["Your answers", "Asked next", "May be asked next: Remaining dentine thickness",
                     "Can change nothing now: Dissimilar metal in contact and Law restricts amalgam"]  # fmt: skip
    page.locator("#look-rest").click()  # it was unfolded for the restoration
    assert not page.locator("#ask-rdt").is_visible()
    assert page.locator("#look-open-list li").all_inner_texts() == ["Next: Eugenol allergy?"]
    assert read(page, "#look-next") == "Next: Eugenol allergy?"
    assert not page.locator("#ask-metal-contact").is_visible()
    fold = page.locator("#look-idle")
    assert fold.get_attribute("aria-expanded") == "false"
    fold.click()
    assert fold.get_attribute("aria-expanded") == "true"
    page.locator("#ask-metal-contact label.pick", has_text="Yes").click()  # it may be answered all the same
    assert group(page, "given")[:4] == ["exposed", "pulp", "restoration", "metal-contact"]
    assert focused(page) == "ask-metal-contact"


def test_what_is_settled_and_what_is_still_possible_is_said(site: Site, open_page: Open) -> None:
    page = open_page(site.address + fragment(without(COMPOSITE, "rdt")))
    page.locator("#look-part").wait_for()
    told = read(page, "#look-part")
    assert "Settled already, if this protocol covers the case Management: Restore with the layers below" in told
    assert "Cavity sealer: Resin adhesive, all cavity walls" in told
    assert (
        "This no longer depends on: Remaining dentine thickness, Dissimilar metal in contact and Law restricts amalgam."
        in told
    )
    assert "Still open, with what is still possible Whether this protocol covers the case is still open." in told
    assert page.locator(".possible dt").all_inner_texts() == ["Liner", "Base"]
    assert page.locator(".possible dd").all_inner_texts()[:2] == [
        "Hard-setting calcium hydroxide, deepest spot, under 0.5\u00a0mm", "No liner",
    ]  # fmt: skip


# --- not finished is said ---------------------------------------------------------------------------------------------


def test_a_case_that_is_not_finished_never_looks_as_if_it_were(site: Site, open_page: Open) -> None:
    page = open_page(site.address)
    for name, value in (("exposed", "no"), ("pulp", "normal"), ("restoration", "composite")):
        choose(page, name, value)
        assert read(page, ".look-open-head").startswith("Not finished: at most ")
        assert read(page, "#look-count").startswith("Not finished: at most ")
        assert page.locator(".say-line").count() == 0
        assert page.locator(".look svg.section").count() == 0
        assert not page.locator("#look-record").is_visible()
        assert page.locator("#look-line").input_value() == ""
    ask(page, COMPOSITE)
    assert head(page) == "Place 3 layers, in this order"
    assert page.locator("#look-line").input_value() != ""
    page.locator("#ask-rdt-number").fill("70")
    page.locator("#ask-rdt[data-state=wrong]").wait_for()
    assert page.locator(".say-line").count() == 0
    assert read(page, "#look-open-list") == "Remaining dentine thickness? The number cannot be taken."


def test_a_wrong_number_that_would_change_nothing_keeps_the_case_open(unforced: Site, open_page: Open) -> None:
    page = open_page(unforced.address)
    choose(page, "exposed", "yes")
    head(page)
    type_number(page, "rdt", "value", "70")
    page.locator("#ask-rdt[data-state=wrong]").wait_for()
    assert not page.locator("#look-result").is_visible()
    assert read(page, ".look-open-head").startswith("Not finished")


def test_not_asked_is_never_no(site: Site, open_page: Open) -> None:
    page = open_page(site.address + fragment(COMPOSITE))
    assert head(page) == "Place 3 layers, in this order"
    shown, line = shown_case(page), page.locator("#look-line").input_value()
    for text in (shown, line):
        assert "Not asked, since it can change nothing: Dissimilar metal in contact and Law restricts amalgam" in text
        assert "Dissimilar metal in contact no" not in text
        assert "Dissimilar metal in contact: no" not in text
        assert "Law restricts amalgam no" not in text
    assert page.locator(".look input:checked").count() == 8  # seven answers, and that the number is the value
    ask(page, without(case(restoration="provisional-before-resin"), "eugenol-allergy"))
    page.locator("#look-count", has_text="Not finished").wait_for()
    assert "Eugenol allergy" in read(page, "#look-open-list")


def test_the_case_not_asked_for_whole_says_what_it_cannot_tell(unforced: Site, open_page: Open) -> None:
    page = open_page(unforced.address + fragment(without(COMPOSITE, "rosin-allergy", "amalgam-metal-allergy")))
    assert head(page) == "Place 3 layers, in this order"
    assert read(page, ".barred-more") == "More may be barred, by what was not asked."


# --- taking back, links, notes ----------------------------------------------------------------------------------------


def test_taking_an_answer_back_opens_the_case_again(unforced: Site, open_page: Open) -> None:
    page = open_page(unforced.address)
    choose(page, "exposed", "yes")
    head(page)
    page.get_by_role("button", name="Take back the answer: Pulp exposed").click()
    assert not page.locator("#look-result").is_visible()
    assert page.locator(".look input:checked").count() == 0
    assert read(page, "#look-count") == "Not finished: at most 10 more questions"
    assert focused(page) == "ask-exposed"  # the button that was pressed is gone
    assert page.locator(".ask-back:visible").count() == 0
    type_number(page, "rdt", "reading", "1.2")
    page.locator("#ask-rdt[data-state=given]").wait_for()
    page.get_by_role("button", name="Take back the answer: Remaining dentine thickness").click()
    assert page.locator("#ask-rdt-number").input_value() == ""
    assert page.locator(".look input:checked").count() == 0


def test_a_link_carries_a_case_of_which_not_all_was_asked(site: Site, open_page: Open) -> None:
    page = open_page(site.address)
    choose(page, "exposed", "no")
    type_number(page, "rdt", "reading", "1.2")
    page.locator("#ask-rdt[data-state=given]").wait_for()
    page.locator("#look-make-link").click()
    link = page.locator("#look-link").input_value()
    asked = dict(parse_qsl(link.partition("#case?")[2]))
    assert asked == {"exposed": "no", "rdt.reading": "1.2 mm", ".edition": "2026.2", ".digest": site.digest[:8]}
    other = open_page(link)
    other.locator("#look-count", has_text="Not finished").wait_for()
    assert not other.locator("#look-notice").is_visible()
    assert sorted(group(other, "given")) == ["exposed", "rdt"]
    assert other.locator(".look input:checked").count() == 2
    whole = open_page(site.address + fragment(COMPOSITE, edition="2026.2", digest=site.digest[:8]))
    assert head(whole) == "Place 3 layers, in this order"
    assert not whole.locator("#look-notice").is_visible()


def test_a_case_that_is_finished_early_is_printed_with_what_was_not_asked(site: Site, open_page: Open) -> None:
    page = open_page(site.address + fragment(COMPOSITE))
    head(page)
    page.evaluate("dispatchEvent(new Event('beforeprint'))")
    page.emulate_media(media="print")
    printed = read(page, "body")
    assert "Not asked, since it can change nothing: Dissimilar metal in contact and Law restricts amalgam" in printed
    for words in ("Can change nothing now", "Take back", "Make a link"):
        assert words not in printed


def test_a_reading_that_settles_nothing_for_sure_is_borderline_before_all_is_asked(site: Site, open_page: Open) -> None:
    page = open_page(site.address + fragment(without(COMPOSITE, "rdt", "rosin-allergy") | {"rdt.reading": "1.2 mm"}))
    page.locator("#look-part .borderline").wait_for()
    assert "or else No liner" in read(page, "#look-part .borderline")
    assert read(page, ".look-open-head") == "Not finished: 1 question is asked in every case."


def test_in_a_borderline_case_what_was_not_asked_is_not_said_to_change_nothing(site: Site, open_page: Open) -> None:
    """What else it could be may hang on it, though the advice does not."""
    read_off = without(COMPOSITE, "rdt") | {"rdt.reading": "1.2 mm"}
    page = open_page(site.address + fragment(read_off))
    head(page)
    assert page.locator("#look-borderline").is_visible()
    labels = "Dissimilar metal in contact and Law restricts amalgam"
    assert read(page, "#look-count") == "Finished: 8 answered, 2 cannot change the advice"
    assert read(page, "#look-idle") == f"Cannot change the advice; what else it could be may hang on it: {labels}"
    for text in (shown_case(page), page.locator("#look-line").input_value()):
        assert f"Not asked (cannot change the advice; what else it could be may hang on it): {labels}" in text
    assert "can change nothing" not in page.locator("body").inner_text().lower()
    page = open_page(site.address + fragment(without(read_off, "rosin-allergy")))
    page.locator("#look-part .borderline").wait_for()
    assert "What else it could be may still hang on it." in read(page, "#look-part .no-longer")


def test_an_answer_that_a_rule_says_never_to_use_is_left_to_nobody(tmp_path: Path, open_page: Open) -> None:
    address = put(make_site(PROTOCOLS / "fail" / "never-stays"), tmp_path).as_uri()
    agent = "Calcium hydroxide"
    never = "advised, but a rule says NEVER to use it: do not use it; ask the authors of the protocol"
    page = open_page(address + fragment({"rdt": "1 mm"}))
    page.locator("#look-reveal").click()
    assert page.locator(".possible dd").all_inner_texts() == [agent, f"{agent}: {never}"]
    choose(page, "allergy", "yes")
    told = read(page, "#look-advice")
    assert f"Liner: {never}." in told
    assert f"NEVER {agent}: by Never with an allergy" in told
    assert "the dentist decides" not in told


@pytest.mark.parametrize("state", ["draft", "withdrawn"])
def test_a_cover_hides_what_is_settled_too(sites: dict[str, Site], open_page: Open, state: str) -> None:
    page = open_page(sites[state].address + fragment(without(COMPOSITE, "rdt")))
    page.locator("#look-cover").wait_for()
    for part in ("part", "open", "result", "record", "share"):
        assert not page.locator(f"#look-{part}").is_visible()
    if state == "draft":
        page.locator("#look-reveal").click()
        assert "Settled already" in read(page, "#look-part")
        assert page.locator("#look-cover").is_visible()
        assert not page.locator("#look-share").is_visible()


def test_an_edition_for_a_day_to_come_says_so_until_that_day(
    demonstration: Path, tmp_path: Path, open_page: Open
) -> None:
    protocol = changed(demonstration, tmp_path, {"^in_force_from: .*": "in_force_from: 2027-06-01"})
    place = put(make_site(protocol), tmp_path / "site").as_uri() + fragment(COMPOSITE)
    page = open_page(place, day="2027-05-31")
    page.locator("#look-cover").wait_for()
    cover = read(page, "#look-cover")
    assert cover.startswith("Not yet in force: do not use for patients.")
    assert "this edition begins on 1 June 2027" in cover
    assert "Edition 2026.2 · Not yet in force: use from 1 June 2027 · Use until 1 September 2028" in read(
        page, ".page-head"
    )
    assert not page.locator("#look-result").is_visible()
    plain_page = open_page(place, scripts=False)  # made before that day, it says so without scripts too
    for part in (".page-head", ".page-foot"):
        assert "Not yet in force: use from 1 June 2027" in read(plain_page, part)
    page = open_page(place, day="2027-06-01")
    assert head(page) == "Place 3 layers, in this order"
    assert "Edition 2026.2 · In force · Use until 1 September 2028" in read(page, ".page-head")


# --- a reading, and who hears or types --------------------------------------------------------------------------------


def test_a_number_is_asked_for_together_with_whether_it_was_read_off(site: Site, open_page: Open) -> None:
    page = open_page(site.address)
    unfold(page, "rdt")
    field = page.locator("#ask-rdt-number")
    assert page.locator("#ask-rdt input:checked").count() == 0
    ways = page.locator("#ask-rdt .ask-way .pick")
    assert ways.all_inner_texts() == ["Judged in the cavity", "Read on a film (bitewing radiograph)"]
    row, line = ways.first.bounding_box(), field.bounding_box()
    assert row["y"] < line["y"] + line["height"] / 2 < row["y"] + row["height"]  # in one line
    field.fill("1.2")
    page.locator("#ask-rdt[data-state=wrong]").wait_for()  # no number is taken before it is said which
    assert read(page, "#ask-rdt-error") == "Say how it was found: judged or read."
    choose(page, "rdt", "reading")
    assert page.locator("#ask-rdt").get_attribute("data-state") == "given"
    assert field.input_value() == "1.2"
    choose(page, "rdt", "value")
    assert field.input_value() == ""  # the film's number is not taken for the value


def test_the_focus_and_the_place_on_the_screen_stay_with_the_reader(site: Site, open_page: Open) -> None:
    page = open_page(site.address, width=390)
    page.locator("#look-rest").click()
    for name in ("restoration", "rosin-allergy", "exposed", "amalgam-metal-allergy"):
        button = page.locator(f"#ask-{name} input").last
        button.focus()
        button.scroll_into_view_if_needed()
        before = button.evaluate("one => one.getBoundingClientRect().top")
        page.keyboard.press("Space")
        assert focused(page) == f"ask-{name}"
        moved = button.evaluate("one => one.getBoundingClientRect().top") - before
        assert abs(moved) < 2 or page.evaluate("scrollY") == 0, name  # at its top a page cannot be scrolled further
    assert group(page, "given") == ["restoration", "exposed", "rosin-allergy", "amalgam-metal-allergy"]


def test_what_became_of_an_answer_is_told_aloud(site: Site, open_page: Open) -> None:
    page = open_page(site.address)
    told = page.locator("#look-told")
    assert told.get_attribute("role") == "status"
    choose(page, "exposed", "no")
    assert told.get_attribute("data-next") == "Not finished. Next: Pulp diagnosis?"
    choose(page, "exposed", "yes")
    assert told.get_attribute("data-next") == (
        "Settled: Management: Assess the pulp first. Not finished. Next: Methacrylate allergy?"
    )
    page.locator("#look-told", has_text="Not finished. Next: Methacrylate allergy?").wait_for()
    for name in ALLERGIES:
        choose(page, name, "no")
    assert told.get_attribute("data-next") == "Finished. Stop: Assess the pulp first."
