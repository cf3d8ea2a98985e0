"""The look-up in a real browser: from the questions to the advice, and what is taken away from it."""

from __future__ import annotations

import re
from collections.abc import Callable
from pathlib import Path
from typing import Any
from urllib.parse import parse_qsl

import pytest

from tests.browser.conftest import Site, Told
from tests.browser.looking_up import (
    answer_all,
    ask,
    case,
    choose,
    fragment,
    group,
    head,
    plain,
    read,
    shown_case,
    type_number,
    unfold_part,
)
from tests.browser.making import changed, make_site, put

Open = Callable[..., Any]
THREE = "Place 3 layers, in this order"


# --- answering --------------------------------------------------------------------------------------------------------


def test_nothing_is_preset(site: Site, open_page: Open) -> None:
    page = open_page(site.address)
    assert page.locator(".look input:checked").count() == 0
    fields = page.locator(".look-asks input[type=text]").evaluate_all("fields => fields.map((one) => one.value)")
    assert fields == [""]
    assert page.locator(".look input[type=range]").get_attribute("aria-valuetext") == "not set"
    assert read(page, "#look-count") == "Not finished: at most 10 more questions"
    assert read(page, ".look-open-head") == "No advice yet: at most 10 more questions."
    assert "Do not guess. Ask the patient, look again, or turn to A. Marsh, extension 12." in read(page, "#look-open")
    assert not page.locator("#look-result").is_visible()
    assert not page.locator("#look-record").is_visible()


def test_one_question_is_asked_at_a_time_and_each_once_in_the_words_of_the_stop_question(
    site: Site, open_page: Open
) -> None:
    page = open_page(site.address)
    legends = [plain(text) for text in page.locator("fieldset.ask legend").all_text_contents()]
    assert group(page, "next") == ["exposed"]
    assert page.locator("fieldset.ask:visible").count() == 5  # the first, and what is asked in every case
    assert all(re.search(r"\?( |$)", one) for one in legends)
    asked = read(page, "#look-form") + " ".join(legends)
    for question in (
        "Is the pulp exposed?", "Does the law restrict amalgam for this patient?",
        "Does the tooth hurt to cold, by itself or at night?", "Will an amalgam touch another metal?",
    ):  # fmt: skip
        assert sum(question in one for one in legends) == 1
    assert asked.count("Any allergy: methacrylate, eugenol, rosin, a metal?") == 1
    assert "Yes, or not known: Necrotic or Uncertain." in " ".join(legends)
    assert not any(text in " ".join(legends) for text in ("Pulp exposed", "Law restricts amalgam"))
    assert not page.locator("#look-first").is_visible()  # each stop question screens something, so it stands there


def test_a_stop_question_that_screens_nothing_is_asked_first(
    demonstration: Path, tmp_path: Path, open_page: Open
) -> None:
    question = "Is the tooth restorable?"
    protocol = changed(demonstration, tmp_path, {"^stop_questions:": f"stop_questions:\n  - {question}"})
    page = open_page(put(make_site(protocol), tmp_path / "site").as_uri())
    assert read(page, "#look-first").endswith(question)
    top = page.locator("#look-first").bounding_box()["y"]
    assert top < page.locator("#ask-exposed").bounding_box()["y"]
    assert page.locator(".look .stop").count() == 1


@pytest.mark.parametrize("restoration", ["composite", "amalgam"])
def test_what_matters_for_one_restoration_alone_is_asked_there_alone(
    site: Site, open_page: Open, restoration: str
) -> None:
    page = open_page(site.address)
    asked = []
    while following := group(page, "next"):
        [name] = following
        asked.append(name)
        if name == "rdt":
            type_number(page, "rdt", "value", "0.4")
            page.locator("#ask-rdt[data-state=given]").wait_for()
        else:
            choose(page, name, {"pulp": "normal", "restoration": restoration}.get(name, "no"))
    assert head(page) == THREE
    assert ("amalgam-restricted" in asked) == ("metal-contact" in asked) == (restoration == "amalgam")
    allergies = [name for name in asked if name.endswith("allergy")]
    assert asked[asked.index(allergies[0]) :][:4] == allergies  # together, once


def test_a_case_by_mouse_to_its_advice(site: Site, open_page: Open) -> None:
    page = open_page(site.address)
    *first, last = case().items()
    answer_all(page, dict(first))
    page.locator("#look-count", has_text="Not finished: at most 1 more question").wait_for()
    assert read(page, "#look-open-list") == "Next: Allergy to a metal of amalgam?"
    assert not page.locator("#look-result").is_visible()
    choose(page, *last)
    assert head(page) == THREE
    layers = page.locator(".layer-list > li")
    assert [plain(text) for text in layers.locator(".agent").all_text_contents()] == [
        "Hard-setting calcium hydroxide",
        "Resin-modified glass ionomer",
        "Cavity varnish",
    ]
    assert layers.locator(".number").all_text_contents() == ["1", "2", "3"]
    assert plain(layers.nth(2).locator(".under").inner_text()) == (
        "Cavity sealer Where: All cavity walls How thick: 2 to 5 µm Coats: 2"
    )
    assert "Remaining dentine thickness: 0.4 mm" in shown_case(page)
    assert "Methacrylate allergy: no" in shown_case(page)
    assert page.locator("#look-behind svg.section title").count() == 1
    assert page.locator("#look-told").get_attribute("data-next").startswith(f"Finished. {THREE}. 1: Hard-setting")
    assert read(page, "#look-count") == "Finished: all 10 answered"


def test_a_case_by_keyboard_alone(site: Site, open_page: Open) -> None:
    page = open_page(site.address)
    keys = page.keyboard

    def tab_to(what: str) -> None:
        for _ in range(60):
            if page.evaluate(f"document.activeElement.{what}"):
                return
            keys.press("Tab")
        raise AssertionError(f"no way to {what} by the keyboard")

    page.locator(".skip").focus()
    asked = []
    while following := group(page, "next"):
        [name] = following
        asked.append(name)
        tab_to(
            "id === 'ask-rdt-number'" if name == "rdt" else f"name === 'ask-{name}'"
        )  # the next question stands after the answer before it
        if name == "rdt":
            keys.type("1.2")
            keys.press("Tab")
            keys.press("ArrowDown")  # from judged to read; the number stays
            keys.press("Tab")
            assert page.evaluate("document.activeElement.type") == "range"
            keys.press("ArrowRight")
            assert page.locator("#ask-rdt-number").input_value() == "1.3"
            keys.press("ArrowLeft")
        else:
            keys.press("Space" if name in ("pulp", "restoration") else "ArrowRight")
        assert page.evaluate("document.activeElement.closest('fieldset').id") == f"ask-{name}"  # the focus stays
    assert head(page) == "Too close to call: Liner. Look again."
    assert asked[:2] == ["exposed", "pulp"]
    tab_to("id === 'look-next'")
    keys.press("Enter")
    assert page.evaluate("document.activeElement.id") == "look-advice-head"


def test_the_links_lead_to_the_questions(site: Site, open_page: Open) -> None:
    page = open_page(site.address, width=320)
    page.locator("#look-open-list a", has_text="Is the pulp exposed?").click()
    assert page.evaluate("document.activeElement.name") == "ask-exposed"
    type_number(page, "rdt", "value", "70")
    page.locator("#ask-rdt[data-state=wrong]").wait_for()
    page.locator("#look-open-list a", has_text="Remaining dentine thickness?").click()
    assert page.evaluate("document.activeElement.id") == "ask-rdt-number"
    page.locator("#look-next").click()
    assert page.evaluate("document.activeElement.id") == "ask-rdt-number"


def test_new_case_clears_everything(site: Site, open_page: Open) -> None:
    page = open_page(site.address + fragment(case(), edition="2025.1", digest="00000000"))
    assert head(page) == THREE
    unfold_part(page, "For the notes")
    page.locator("#look-departure").fill("Patient's wish")
    page.locator("#look-judged").fill("by probe")
    page.locator(".look-bar button").click()
    assert page.locator(".look input:checked").count() == 0
    assert page.locator("#ask-rdt-number").input_value() == ""
    assert read(page, "#look-count") == "Not finished: at most 10 more questions"
    for name in ("departure", "judged", "line", "link"):
        assert page.locator(f"#look-{name}").input_value() == ""
    assert not page.locator("#look-notice").is_visible()
    assert page.evaluate("document.activeElement.name") == "ask-exposed"
    assert "case?" not in page.url


# --- numbers ----------------------------------------------------------------------------------------------------------


def test_the_slider_is_not_set_until_it_is_touched(site: Site, open_page: Open) -> None:
    page = open_page(site.address)
    choose(page, "rdt", "value")
    slider, field = page.locator("#ask-rdt input[type=range]"), page.locator("#ask-rdt-number")
    assert field.input_value() == ""
    assert "unset" in slider.get_attribute("class")
    slider.focus()
    page.keyboard.press("Home")  # where an unset slider would lie: it counts only now
    assert field.input_value() == "0"
    page.keyboard.press("ArrowRight")
    assert (field.input_value(), slider.get_attribute("aria-valuetext")) == ("0.1", "0.1 mm")
    for _ in range(2):
        page.keyboard.press("ArrowRight")
    assert field.input_value() == "0.3"  # not 0.30000000000000004
    field.fill("1.25")
    page.locator("#ask-rdt[data-state=given]").wait_for()
    assert slider.get_attribute("aria-valuetext") == "1.25 mm"
    field.fill("")
    page.locator("#ask-rdt[data-state=empty]").wait_for()
    assert slider.get_attribute("aria-valuetext") == "not set"


def test_a_number_is_not_carried_from_one_scale_to_the_other(site: Site, open_page: Open) -> None:
    page = open_page(site.address)
    type_number(page, "rdt", "value", "1.2")
    choose(page, "rdt", "reading")
    assert page.locator("#ask-rdt-number").input_value() == ""
    assert page.locator("#ask-rdt").get_attribute("data-state") == "empty"


REFUSED = {
    "7": "7 mm is outside the limits of Remaining dentine thickness (0 mm to 6 mm).",
    "1,200": "The number has a comma. Write “1200 mm” or “1.200 mm”, whichever is meant.",
    "half": "Write millimetres, for example 0.4.",
    "2 mn": "Write millimetres, for example 0.4.",
    "2 years": "Write millimetres, for example 0.4.",
    "<0.5": "Write millimetres, for example 0.4.",
}


def test_a_wrong_number_is_refused_in_words(site: Site, open_page: Open) -> None:
    page = open_page(site.address + fragment(case()))
    field, error = page.locator("#ask-rdt-number"), page.locator("#ask-rdt-error")
    for typed, words in REFUSED.items():
        field.fill("0.4")
        assert head(page) == THREE
        assert field.get_attribute("aria-invalid") == "false"
        field.fill(typed)
        page.locator("#ask-rdt[data-state=wrong]").wait_for()
        assert plain(error.inner_text()) == words
        assert field.get_attribute("aria-invalid") == "true"
        assert "ask-rdt-error" in field.get_attribute("aria-describedby").split()
        assert not page.locator("#look-result").is_visible()
        assert read(page, "#look-open-list") == "Remaining dentine thickness? The number cannot be taken."


def test_other_ways_to_write_a_number(site: Site, open_page: Open) -> None:
    page = open_page(site.address + fragment(case()))
    for typed, counted in (("0,3", "0.3 mm"), ("400 um", "0.4 mm"), (".20", "0.2 mm")):
        page.locator("#ask-rdt-number").fill(typed)
        page.locator("#look-case dd", has_text=re.compile(f"^{counted.replace(' ', '.')}$")).wait_for(state="attached")
        assert head(page) == THREE


def test_a_reading_that_can_hardly_be_is_doubted_aloud(site: Site, open_page: Open) -> None:
    page = open_page(site.address + fragment(case(rdt_reading="70 mm")))
    head(page)
    assert read(page, "#ask-rdt-error").startswith("Check the number and the unit")
    assert "Check the number and the unit: Remaining dentine thickness does not go so far" in read(page, "#look-advice")
    page.locator("#ask-rdt-number").fill("1")
    page.locator("#look-case dd", has_text=re.compile("treated as")).wait_for(state="attached")
    assert read(page, "#ask-rdt-error") == ""


def test_no_advice_while_a_number_is_typed(site: Site, open_page: Open) -> None:
    page = open_page(site.address + fragment(case()))
    assert head(page) == THREE
    page.locator("#ask-rdt-number").focus()
    page.keyboard.press("End")
    page.keyboard.type("5")
    assert not page.locator("#look-result").is_visible()  # at once: what stood there was for another number
    page.keyboard.press("Enter")
    page.locator("#look-result").wait_for()
    assert "Remaining dentine thickness: 0.45 mm" in shown_case(page)


# --- the advice -------------------------------------------------------------------------------------------------------


def test_a_reading_too_close_to_call_says_so_with_both_answers_beside_it(site: Site, open_page: Open) -> None:
    page = open_page(site.address + fragment(case(rdt_reading="1.2 mm")))
    assert head(page) == "Too close to call: Liner. Look again."
    assert "tone-doubt" in page.locator(".say-head").get_attribute("class").split()
    told = "You entered a reading of 1.2 mm (bitewing radiograph), corrected to 0.8 mm and treated as 0.4 mm."
    assert told in read(page, "#look-advice")
    both = page.locator(".either dd").all()
    assert [read_of(one) for one in both] == [
        "as 0.4 mm Hard-setting calcium hydroxide, deepest spot, under 0.5 mm", "or else No liner",
    ]  # fmt: skip
    assert both[0].bounding_box()["y"] == both[1].bounding_box()["y"]
    assert "Counted as 0.4 mm: Place 3 layers, in this order" in read(page, ".borderline")
    assert page.locator("#look-behind svg.reading").count() == 1


def read_of(one: Any) -> str:
    return plain(one.inner_text())


def test_a_reading_far_from_any_threshold_is_not_borderline(site: Site, open_page: Open) -> None:
    page = open_page(site.address + fragment(case(rdt_reading="6 mm")))
    head(page)
    assert page.locator(".borderline").count() == 0


def test_under_a_stop_nothing_is_placed_until_it_is_done(site: Site, open_page: Open) -> None:
    page = open_page(site.address)
    for given, words in (
        (case(amalgam_restricted="yes"), "Place nothing until this is done: Choose another restoration"),
        (case(exposed="yes"), "Place nothing until this is done: Assess the pulp first"),
        (case(pulp="uncertain"), "Place nothing until this is decided: Management"),
    ):
        ask(page, given)
        head(page)
        assert words in read(page, "#look-advice")
        assert "Not needed" not in read(page, "#look-advice")


TONES = [
    (case(), THREE, "place"),
    (case(rdt="4 mm", restoration="glass-ionomer"), "Place nothing", "nothing"),
    (case(amalgam_restricted="yes"), "Stop: Choose another restoration", "refer"),
    (case(pulp="uncertain"), "Dentist decides: Management", "decide"),
    (case(rdt="0 mm"), "Not covered here", "out"),
]


def test_each_tone_is_told_in_words(site: Site, open_page: Open) -> None:
    page = open_page(site.address)
    for given, line, tone in TONES:
        ask(page, given)
        assert head(page) == line
        assert f"tone-{tone}" in page.locator(".say-head").get_attribute("class").split()


def test_what_is_not_covered_says_why_and_where_to_turn(site: Site, open_page: Open) -> None:
    page = open_page(site.address + fragment(case(rdt="0 mm")))
    advice = read(page, "#look-advice")
    assert "Where no dentine is left the pulp is exposed, so the two answers contradict each other." in advice
    assert "Instead: Look again, and answer yes to the question of exposure." in advice
    assert "Where to turn: A. Marsh, extension 12." in advice


def test_a_judgement_says_why_and_where_to_turn(site: Site, open_page: Open) -> None:
    page = open_page(site.address + fragment(case(pulp="uncertain")))
    advice = read(page, "#look-advice")
    assert "Dentist decides: Retest, place a provisional or review. The evidence does not decide." in advice
    assert "Where to turn: A. Marsh, extension 12." in advice


def test_rules_stand_behind_each_answer(site: Site, open_page: Open) -> None:
    page = open_page(site.address + fragment(case()))
    head(page)
    why = unfold_part(page, "Why, and how sure are we")
    words = plain(why.inner_text())
    assert "Liner Rule 9: Line the deepest spot of a deep cavity" in words
    assert "the true effect is likely to differ a good deal from what the studies show" in words
    assert "References: Quill 2017 [5]" in words
    why.locator("a[href='#rule-line-a-deep-cavity']").click()
    rule = page.locator("[id='rule-line-a-deep-cavity']")
    assert 0 <= rule.evaluate("one => one.getBoundingClientRect().top") < 300
    assert not page.locator("#look-up").is_visible()
    page.locator("#views a", has_text="Look up a case").click()
    assert head(page) == THREE  # reading a rule does not lose the case
    assert not rule.is_visible()


def test_what_must_not_be_used_in_this_case(site: Site, open_page: Open) -> None:
    page = open_page(site.address + fragment(case(restoration="provisional-otherwise", eugenol_allergy="yes")))
    head(page)
    never = page.locator(".barred", has_text="Never:")
    assert "Never: Reinforced zinc oxide-eugenol (Base)" in plain(never.inner_text())
    assert never.bounding_box()["y"] < page.locator(".rest, .layer-list").last.bounding_box()["y"]
    why = unfold_part(page, "Why, and how sure are we")
    assert "Reinforced zinc oxide-eugenol (Base): rule" in plain(why.inner_text())
    ask(page, case(methacrylate_allergy="yes"))
    head(page)
    assert never.bounding_box()["y"] < page.locator(".layer-list").bounding_box()["y"]
    ask(page, case(restoration="provisional-otherwise"))
    assert page.locator(".barred", has_text="Reinforced zinc oxide-eugenol").count() == 0


def test_irritants_are_told_by_the_protocols_table(site: Site, open_page: Open) -> None:
    page = open_page(site.address + fragment(case()))
    summary = page.locator(".say-more summary", has_text="What reaches the pulp")
    assert plain(summary.inner_text()) == (
        "What reaches the pulp, by this protocol's table: not stopped: Cement acid, Monomer and Bacteria at the margin"
    )
    summary.click()
    assert "Heat: stopped by Base, by this protocol's table" in read(page, ".threats")


def test_what_rules_leave_open_is_said_in_a_draft(sites: dict[str, Site], open_page: Open) -> None:
    page = open_page(sites["open findings"].address + fragment(case(exposed="yes")))
    assert not page.locator("#look-result").is_visible()
    assert "Draft: do not use for patients" in read(page, "#look-cover")
    page.locator("#look-reveal").click()
    assert head(page) == "No single answer: Management"
    assert "Management: NO RULE answers this; the dentist decides." in read(page, "#look-advice")
    assert "Where to turn: A. Marsh, extension 12." in read(page, "#look-advice")
    assert not page.locator("#look-record").is_visible()  # nothing of a draft is taken into the notes
    page.locator(".look-bar button").click()
    ask(page, case())
    assert not page.locator("#look-result").is_visible()  # covered anew for each case


@pytest.mark.parametrize("state", ["withdrawn", "past", "early"])
def test_an_edition_that_must_not_be_used_covers_the_advice(
    sites: dict[str, Site], open_page: Open, state: str
) -> None:
    days = {"past": "2028-09-02", "early": "2026-08-31", "withdrawn": "2026-10-01"}
    place = sites["withdrawn" if state == "withdrawn" else "in force"].address
    page = open_page(place + fragment(case()), day=days[state])
    page.locator("#look-cover").wait_for()
    assert "do not use for patients" in read(page, "#look-cover")
    assert not page.locator("#look-result").is_visible()
    assert not page.locator("#look-record").is_visible()
    assert not page.locator("#look-reveal").is_visible()


def test_the_advice_is_covered_when_its_day_passes_while_the_page_is_open(site: Site, open_page: Open) -> None:
    page = open_page(site.address + fragment(case()), day="2028-09-01")
    assert head(page) == THREE
    page.clock.set_fixed_time("2028-09-02T00:00:01")
    page.evaluate("document.dispatchEvent(new Event('visibilitychange'))")
    assert not page.locator("#look-result").is_visible()
    assert page.locator("#look-cover").is_visible()


# --- for the notes ----------------------------------------------------------------------------------------------------


def test_the_line_for_the_notes_is_copied(site: Site, open_page: Open) -> None:
    page = open_page(site.address + fragment(case()))
    page.context.grant_permissions(["clipboard-read", "clipboard-write"])
    unfold_part(page, "For the notes")
    page.locator("#look-judged").fill("by eye, after caries removal.")
    page.locator("#look-departure").fill("no varnish in stock")
    page.locator("#look-copy").click()
    page.locator("#look-copied", has_text="The line was copied.").wait_for()
    line = page.evaluate("navigator.clipboard.readText()")
    assert line == (
        f"Pulp protection under restorations, Tern Street Dental Practice, edition 2026.2 (digest {site.digest[:8]}), "
        "looked up on 1 October 2026. Case: Remaining dentine thickness 0.4 mm (by eye, after caries removal); Pulp "
        "exposed no; Pulp diagnosis Normal; Restoration Amalgam; Dissimilar metal in contact no; Law restricts amalgam "
        "no; Methacrylate allergy no; Eugenol allergy no; Rosin allergy no; Allergy to a metal of amalgam no. Advice: "
        "Management: Restore with the layers below; 1. Liner: Hard-setting calcium hydroxide, deepest spot, under 0.5 "
        "mm; 2. Base: Resin-modified glass ionomer, pulpal or axial floor, 0.75 to 1 mm; 3. Cavity sealer: Cavity "
        "varnish, all cavity walls, 2 to 5 µm, 2 coats. Departed from because: no varnish in stock."
    )


def test_the_line_says_how_a_reading_was_taken(site: Site, open_page: Open) -> None:
    page = open_page(site.address + fragment(case(rdt_reading="1.2 mm")))
    assert not page.locator("#look-judged-row").is_visible()
    line = page.locator("#look-line").input_value()
    assert (
        "Remaining dentine thickness by a reading of 1.2 mm (bitewing radiograph), corrected to 0.8 mm and "
        "treated as 0.4 mm;" in line
    )
    assert line.endswith("borderline within the uncertainty of the reading.")


def test_where_copying_is_not_allowed_the_line_is_selected(site: Site, open_page: Open) -> None:
    page = open_page(site.address + fragment(case()))
    page.evaluate("() => { navigator.clipboard.writeText = () => Promise.reject(new Error('no')); }")
    page.locator("#look-copy").click()
    page.locator("#look-copied", has_text="The line is selected: copy it with Ctrl and C").wait_for()
    assert page.evaluate("document.activeElement.id") == "look-line"
    assert page.evaluate("getSelection().toString() || document.activeElement.selectionEnd > 100")


def test_a_link_asks_the_same_case_again(site: Site, open_page: Open) -> None:
    page = open_page(site.address)
    answer_all(page, case(rdt_reading="1.2 mm", restoration="composite"))
    first = (head(page), read(page, "#look-advice"), shown_case(page))
    assert "case?" not in page.url  # made on request only
    page.locator("#look-make-link").click()
    link = page.locator("#look-link").input_value()
    asked = dict(parse_qsl(link.partition("#case?")[2]))
    assert asked == case(rdt_reading="1.2 mm", restoration="composite") | {
        ".edition": "2026.2",
        ".digest": site.digest[:8],
    }
    other = open_page(link)
    assert (head(other), read(other, "#look-advice"), shown_case(other)) == first
    assert not other.locator("#look-notice").is_visible()
    assert other.locator("#ask-rdt-number").input_value() == "1.2"


def test_what_a_link_says_that_cannot_be_taken_is_said(site: Site, open_page: Open) -> None:
    given = case(pulp="gold", rdt="9 mm") | {"colour": "blue"}
    page = open_page(f"{site.address}{fragment(given, edition='2025.1', digest='0badc0de')}&exposed=yes")
    notice = read(page, "#look-notice")
    assert f"for edition 2025.1 (digest 0badc0de). This page is edition 2026.2 (digest {site.digest[:8]})" in notice
    assert "The link gives a value for “colour”, which this protocol does not ask. It was left out." in notice
    assert "Pulp exposed more than once. It was left open: answer it here." in notice
    assert "Pulp diagnosis: what the link says cannot be taken. 'gold' is not a value of Pulp diagnosis." in notice
    assert "9 mm is outside the limits of Remaining dentine thickness" in notice
    assert read(page, "#look-count") == "Not finished: at most 3 more questions"
    choose(page, "pulp", "normal")
    assert "case?" not in page.url  # the address no longer says what is answered


def printed(page: Any) -> tuple[str, Any]:
    """The text of what is printed of a page, and its PDF, as the browser makes it on A4."""
    pdfium = pytest.importorskip("pypdfium2")
    page.evaluate("dispatchEvent(new Event('beforeprint'))")
    document = pdfium.PdfDocument(page.pdf(prefer_css_page_size=True, format="A4", print_background=False))
    page.evaluate("dispatchEvent(new Event('afterprint'))")
    return plain(" ".join(one.get_textpage().get_text_range() for one in document)), document


def test_the_case_is_printed_alone(site: Site, open_page: Open) -> None:
    page = open_page(site.address + fragment(case()))
    page.evaluate("window.print = () => { window.asked = true; }")
    page.locator("#look-print").click()
    assert page.evaluate("window.asked")
    text, _ = printed(page)
    for words in (THREE, "This case", "Edition 2026.2", "Review by 1 September 2028", "1 October 2026", "Cautions",
                  "An allergy that was not asked about is not a", "Resin-modified glass ionomer"):  # fmt: skip
        assert words in text
    assert site.digest in text.replace(" ", "")
    for words in ("The decision chart", "New case", "Ask first", "Copy the line", "References 1"):
        assert words not in text
    page.locator("#views a", has_text="Rules and chart").click()
    assert "The decision chart" in printed(page)[0]


PRINTED = [
    case(), case(rdt_reading="1.2 mm"), case(rdt_reading="70 mm"), case(pulp="uncertain"), case(exposed="yes"),
    case(rdt="0 mm"), case(restoration="provisional-otherwise", eugenol_allergy="yes"),
    case(rosin_allergy="yes", methacrylate_allergy="yes", restoration="ceramic"),
]  # fmt: skip


def test_a_case_is_printed_on_one_page_with_its_hatches(site: Site, open_page: Open) -> None:
    page = open_page(site.address)
    for given in PRINTED:
        ask(page, given)
        line = head(page)
        text, document = printed(page)
        assert line in text
        assert len(document) == 1, (given, len(document))
    ask(page, case(rdt_reading="1.2 mm"))
    head(page)
    place = page.locator(".say-head")
    colours = place.evaluate("one => [getComputedStyle(one).backgroundImage, getComputedStyle(one).printColorAdjust]")
    page.emulate_media(media="print")
    assert place.evaluate("one => getComputedStyle(one).printColorAdjust") == "exact"
    assert colours[0].startswith("url(")
    page.emulate_media(media="screen")


def test_a_case_that_is_not_finished_says_so_on_paper(site: Site, open_page: Open) -> None:
    page = open_page(site.address + fragment({"exposed": "no", "pulp": "normal", "restoration": "composite"}))
    page.locator("#look-part").wait_for()
    text, document = printed(page)
    assert "Not finished: at most" in text
    assert "This case Pulp exposed: no Pulp diagnosis: Normal Restoration: Composite" in text
    assert THREE not in text
    assert len(document) == 1


# --- nothing leaves, nothing is kept ----------------------------------------------------------------------------------


def test_nothing_is_sent_and_nothing_is_kept(site: Site, server: str, open_page: Open, told: Told) -> None:
    for address in (site.address, server):
        page = open_page(address)
        answer_all(page, case())
        assert head(page) == THREE
        unfold_part(page, "For the notes")
        page.locator("#look-departure").fill("a reason")
        assert page.evaluate("[localStorage.length, sessionStorage.length, document.cookie]") == [0, 0, ""]
        page.reload()
        assert read(page, "#look-count") == "Not finished: at most 10 more questions"
    ours = (site.address, server, "data:", "blob:")
    assert [request for request in told.requests if not request.startswith(ours)] == []


HOSTILE = "<img src=x onerror=\"document.title='hurt'\"> & \"q\" </script><script>document.title='hurt'</script>"


def quoted(text: str) -> str:
    """A text in YAML's single quotes."""
    return "'" + text.replace("'", "''") + "'"


def test_what_authors_write_is_shown_as_it_is_written(
    demonstration: Path, tmp_path: Path, open_page: Open, told: Told
) -> None:
    protocol = changed(
        demonstration,
        tmp_path,
        {
            "^    label: Restoration$": f"    label: {quoted(HOSTILE + ' R')}",
            "^contact: .*": f"contact: {quoted(HOSTILE + ' C')}",
            "^    because: Where no dentine.*": f"    because: {quoted(HOSTILE + ' B')}",
            "^      amalgam: Amalgam$": f"      amalgam: {quoted(HOSTILE + ' A')}",
        },
    )
    place = put(make_site(protocol), tmp_path / "site")
    page = open_page(place.as_uri() + fragment(case(rdt="0 mm")))
    assert head(page) == "Not covered here"
    for letter in "ABCR":
        assert f"{HOSTILE} {letter}" in read(page, "#look-lookup") + page.locator("#look-line").input_value()
    ask(page, case())
    assert head(page) == THREE
    assert f"{HOSTILE} A" in plain(page.locator("#look-behind svg desc").first.text_content())
    assert page.locator(".look img").count() == 0
    assert page.title().startswith("Pulp protection")
    assert told.errors == []


# --- values judged by eye ---------------------------------------------------------------------------------------------


def test_a_value_judged_by_eye_is_to_be_looked_at_again_near_a_threshold_and_the_advice_stays(
    demonstration: Path, tmp_path: Path, open_page: Open
) -> None:
    judged = "    at_most: 6 mm\n    judged: {uncertainty: 0.3 mm, cautious: below}\n"
    protocol = changed(demonstration, tmp_path, {r"^    at_most: 6 mm\n": judged})
    address = put(make_site(protocol), tmp_path / "site").as_uri()
    page = open_page(address + fragment(case(rdt="0.6 mm")))
    place = page.locator("#look-near")
    place.wait_for()
    assert read(page, "#look-near") == (
        "Too close to call: Liner. Look again. "
        "Look again: Remaining dentine thickness, judged by eye as 0.6 mm, is within 0.3 mm of a threshold. "
        "If in doubt, take the smaller value. Within that it could also be: "
        "Liner as 0.6 mm No liner or else Hard-setting calcium hydroxide, deepest spot, under 0.5 mm "
        "Counted as 0.6 mm: Place 2 layers, in this order"
    )
    assert page.locator(".say-line").count() == 1
    told = page.locator("#look-told").get_attribute("data-next")
    assert told.startswith("Finished. Too close to call: Liner. Look again. Place 2 layers, in this order. 1:")
    assert page.locator("#look-borderline").count() == 0
    assert "near a threshold, judged by eye" in page.locator("#look-line").input_value()
    doubt = place.evaluate(
        "one => { const { border, fontSize } = getComputedStyle(one); return [border, fontSize, one.className] }"
    )
    ask(page, case(rdt_reading="1.2 mm"))
    page.locator("#look-borderline").wait_for()
    assert doubt == page.locator("#look-borderline").evaluate(
        "one => { const { border, fontSize } = getComputedStyle(one); return [border, fontSize, one.className] }"
    )  # what is read off and what is judged look alike
    told = page.locator("#look-told").get_attribute("data-next")
    assert told.startswith("Finished. Too close to call: ")
    ask(page, case(rdt="1.2 mm"))
    assert place.count() == 0
    assert "Too close" not in page.locator("#look-told").get_attribute("data-next")
