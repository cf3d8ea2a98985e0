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
    BASE,
    answer_all,
    ask,
    case,
    choose,
    fragment,
    group,
    head,
    plain,
    read,
    type_number,
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


def test_the_stop_question_is_asked_first_and_the_rest_stand_in_the_order_of_the_protocol(
    site: Site, open_page: Open
) -> None:
    page = open_page(site.address)
    ids = page.locator("fieldset.ask").evaluate_all("all => all.map((one) => one.id.slice(4))")
    assert ids == ["exposed", *(name for name in BASE if name != "exposed")]
    assert group(page, "next") == ["exposed"]
    top = page.locator(".look .stop").bounding_box()["y"]
    assert top < page.locator("#ask-exposed").bounding_box()["y"]
    assert "Any allergy to resin, eugenol, rosin or a metal?" in read(page, ".look .stop")


def test_a_case_by_mouse_to_its_advice(site: Site, open_page: Open) -> None:
    page = open_page(site.address)
    *first, last = case().items()
    answer_all(page, dict(first))
    page.locator("#look-count", has_text="Not finished: at most 1 more question").wait_for()
    assert read(page, "#look-open-list") == "Next: Allergy to a metal of amalgam"
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
    assert plain(layers.nth(2).locator(".layer-facts").inner_text()) == (
        "Where All cavity walls How thick 2 to 5 µm Coats 2"
    )
    assert "Remaining dentine thickness: 0.4 mm" in read(page, "#look-case")
    assert "Methacrylate allergy: no" in read(page, "#look-case")
    assert page.locator("#look-advice svg.section title").count() == 1
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
        tab_to(f"name?.startsWith('ask-{name}')")  # the next question stands after the answer before it
        if name == "rdt":
            keys.press("ArrowDown")  # from the value itself to the reading
            keys.press("Tab")
            keys.type("1.2")
            keys.press("Tab")
            assert page.evaluate("document.activeElement.type") == "range"
            keys.press("ArrowRight")
            assert page.locator("#ask-rdt-number").input_value() == "1.3"
            keys.press("ArrowLeft")
        else:
            keys.press("Space" if name in ("pulp", "restoration") else "ArrowRight")
        assert page.evaluate("document.activeElement.closest('fieldset').id") == f"ask-{name}"  # the focus stays
    assert head(page) == THREE
    assert asked[:2] == ["exposed", "pulp"]
    tab_to("id === 'look-next'")
    keys.press("Enter")
    assert page.evaluate("document.activeElement.id") == "look-advice-head"


def test_the_links_lead_to_the_questions(site: Site, open_page: Open) -> None:
    page = open_page(site.address, width=320)
    page.locator("#look-open-list a", has_text="Eugenol allergy").click()
    assert page.evaluate("document.activeElement.name") == "ask-eugenol-allergy"
    page.locator("#look-next").click()
    assert page.evaluate("document.activeElement.name") == "ask-exposed"


def test_new_case_clears_everything(site: Site, open_page: Open) -> None:
    page = open_page(site.address + fragment(case(), edition="2025.1", digest="00000000"))
    assert head(page) == THREE
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
    "half": "'half' is not one number with its unit. Write a decimal number and a unit, for example “0.5 mm”.",
    "2 mn": "'mn' is not one of the units that will do here. Write the unit as mm, m, dm, cm, um, nm or [in_i].",
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
        assert read(page, "#look-open-list") == "Remaining dentine thickness: the number cannot be taken"


def test_other_ways_to_write_a_number(site: Site, open_page: Open) -> None:
    page = open_page(site.address + fragment(case()))
    for typed, counted in (("0,3", "0.3 mm"), ("400 um", "0.4 mm"), (".20", "0.2 mm")):
        page.locator("#ask-rdt-number").fill(typed)
        page.locator("#look-case dd", has_text=re.compile(f"^{counted.replace(' ', '.')}$")).wait_for()
        assert head(page) == THREE


def test_a_reading_that_can_hardly_be_is_doubted_aloud(site: Site, open_page: Open) -> None:
    page = open_page(site.address + fragment(case(rdt_reading="70 mm")))
    head(page)
    assert read(page, "#ask-rdt-error").startswith("Check the number and the unit")
    assert "Check the number and the unit: Remaining dentine thickness does not go so far" in read(page, "#look-case")
    page.locator("#ask-rdt-number").fill("1")
    page.locator("#look-case dd", has_text=re.compile("treated as")).wait_for()
    assert read(page, "#ask-rdt-error") == ""


def test_no_advice_while_a_number_is_typed(site: Site, open_page: Open) -> None:
    page = open_page(site.address + fragment(case()))
    assert head(page) == THREE
    page.locator("#ask-rdt-number").focus()
    page.keyboard.press("End")
    page.keyboard.type("5")
    assert not page.locator("#look-result").is_visible()  # at once: what stood there was for another number
    page.keyboard.press("Enter")
    assert "Remaining dentine thickness: 0.45 mm" in read(page, "#look-case")


# --- the advice -------------------------------------------------------------------------------------------------------


def test_a_reading_is_repeated_with_what_it_counts_as_and_what_else_it_could_be(site: Site, open_page: Open) -> None:
    page = open_page(site.address + fragment(case(rdt_reading="1.2 mm")))
    assert head(page) == THREE
    told = "You entered a reading of 1.2 mm (bitewing radiograph), corrected to 0.8 mm and treated as 0.4 mm."
    assert told in read(page, "#look-case")
    assert read(page, ".borderline") == (
        "Borderline: what else it could be Within the uncertainty of what was read, Remaining dentine thickness could "
        "be 0.4 mm to 1.3 mm. Then it would be: Liner: No liner The advice above is that for Remaining dentine "
        "thickness 0.4 mm. Look again, or ask A. Marsh, extension 12."
    )
    page.locator(".say-head a").click()
    assert page.evaluate("document.activeElement.id") == "look-borderline"
    assert page.locator("#look-advice svg.reading").count() == 1


def test_a_reading_far_from_any_threshold_is_not_borderline(site: Site, open_page: Open) -> None:
    page = open_page(site.address + fragment(case(rdt_reading="6 mm")))
    head(page)
    assert page.locator(".borderline").count() == 0


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
    assert "Not needed in this case: Liner, Base and Cavity sealer" in advice


def test_rules_stand_behind_each_answer(site: Site, open_page: Open) -> None:
    page = open_page(site.address + fragment(case()))
    why = page.locator(".layer-list > li").first.locator("details")
    summary = why.locator("summary").text_content()
    assert plain(summary) == "Why? Rule 9: conditional recommendation, very low certainty, Liner"
    why.locator("summary").click()
    words = plain(why.inner_text())
    assert "Rule 9: Line the deepest spot of a deep cavity" in words
    assert "the true effect is likely to differ a good deal from what the studies show" in words
    assert "References: Quill 2017 [5]" in words
    why.locator("a[href^='#rule-']").click()
    assert page.locator("[id='rule-line-a-deep-cavity']").evaluate("one => one.getBoundingClientRect().top") < 900
    assert head(page) == THREE  # reading a rule does not lose the case


def test_what_must_not_be_used_in_this_case(site: Site, open_page: Open) -> None:
    page = open_page(site.address + fragment(case(restoration="provisional-otherwise", eugenol_allergy="yes")))
    head(page)
    assert "Never Reinforced zinc oxide-eugenol (Base)" in read(page, ".barred")
    ask(page, case(restoration="provisional-otherwise"))
    assert page.locator(".barred", has_text="Never Reinforced zinc oxide-eugenol").count() == 0


def test_irritants_are_told_by_the_protocols_table(site: Site, open_page: Open) -> None:
    page = open_page(site.address + fragment(case()))
    summary = page.locator(".say-more summary").first
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
    first = (head(page), read(page, "#look-advice"), read(page, "#look-case"))
    assert "case?" not in page.url  # made on request only
    page.locator("#look-make-link").click()
    link = page.locator("#look-link").input_value()
    asked = dict(parse_qsl(link.partition("#case?")[2]))
    assert asked == case(rdt_reading="1.2 mm", restoration="composite") | {
        ".edition": "2026.2",
        ".digest": site.digest[:8],
    }
    other = open_page(link)
    assert (head(other), read(other, "#look-advice"), read(other, "#look-case")) == first
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


def test_the_case_is_printed_alone(site: Site, open_page: Open) -> None:
    page = open_page(site.address + fragment(case()))
    page.evaluate("window.print = () => { window.asked = document.documentElement.className; }")
    page.locator("#look-print").click()
    assert page.evaluate("window.asked") == "print-case"
    page.emulate_media(media="print")
    printed = read(page, "body")
    for words in (THREE, "This case", "Edition 2026.2", "Review by 1 September 2028", "1 October 2026", "Cautions",
                  "An allergy that was not asked about is not a", "Resin-modified glass ionomer"):  # fmt: skip
        assert words in printed
    assert site.digest in printed.replace(" ", "")
    for words in ("The decision chart", "New case", "Ask first", "Copy the line", "References 1"):
        assert words not in printed
    page.evaluate("window.dispatchEvent(new Event('afterprint'))")
    assert "The decision chart" in read(page, "body")


# --- nothing leaves, nothing is kept ----------------------------------------------------------------------------------


def test_nothing_is_sent_and_nothing_is_kept(site: Site, server: str, open_page: Open, told: Told) -> None:
    for address in (site.address, server):
        page = open_page(address)
        answer_all(page, case())
        assert head(page) == THREE
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
    assert f"{HOSTILE} A" in plain(page.locator("#look-advice svg desc").first.text_content())
    assert page.locator(".look img").count() == 0
    assert page.title().startswith("Pulp protection")
    assert told.errors == []
