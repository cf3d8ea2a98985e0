"""The page around the look-up in a real browser: seen, heard, by keyboard, without a network, past its date."""

from __future__ import annotations

import re
import shutil
from collections.abc import Callable
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

import pytest

from tests.browser.conftest import LOOKS, SHORTEN, WIDTHS, Site, Told, seen_in, served, settled
from tests.browser.making import make_site, put

Open = Callable[..., Any]
Axe = Callable[..., list[str]]

STATES = ["in force", "draft", "open findings", "withdrawn"]
PAST = "2028-09-02"
"""The day after the last one on which the demonstration may be used."""
AGENTS = "calcium hydroxide"


def is_covered(page: Any) -> bool:
    covered: bool = page.evaluate("document.documentElement.classList.contains('covered')")
    return covered


def notices(page: Any) -> list[str]:
    """The words of every notice that is seen in one of the two views, in the order of the page."""
    found = []
    for view in ("look-up", "protocol") if page.locator("#views").is_visible() else ("look-up",):
        show(page, view)
        found += [one.inner_text() for one in page.locator(".cover-notice").all() if one.is_visible()]
    show(page, "look-up")
    return found


def show(page: Any, view: str = "protocol") -> None:
    """Shows one of the two views by its link, where there are scripts."""
    if page.locator("#views").is_visible():
        page.locator(f"#views a[href='#{view}']").click()
        page.locator(f"html[data-view={view}]").wait_for()


# --- seen and heard ---------------------------------------------------------------------------------------------------


def assert_no_barrier(page: Any, axe: Axe, state: str) -> None:
    """In every look; of what the page has many of only the first few, and all that is folded unfolded."""
    page.evaluate("for (const one of document.querySelectorAll('details')) one.open = true")
    page.evaluate(SHORTEN)
    page.evaluate("delete document.documentElement.dataset.view")  # both views, one below the other
    for look in LOOKS:
        seen_in(page, look)
        assert axe(page, look=look) == [], (state, look)


@pytest.mark.parametrize("width", WIDTHS)
@pytest.mark.parametrize("state", STATES)
def test_no_state_of_the_shell_has_a_barrier(
    sites: dict[str, Site], open_page: Open, axe: Axe, width: int, state: str
) -> None:
    assert_no_barrier(open_page(sites[state].address, width), axe, state)


@pytest.mark.parametrize("width", WIDTHS)
def test_neither_search_nor_a_scanned_card_nor_the_cover_is_a_barrier(
    site: Site, open_page: Open, axe: Axe, width: int
) -> None:
    page = open_page(site.address + f"#digest={site.digest}", width)
    assert page.locator("#card-check").is_visible()
    show(page)
    page.evaluate("document.querySelector('#contents').open = true")
    page.locator("#search-field").fill(AGENTS)
    assert page.locator(".hits a").count() > 3
    assert_no_barrier(page, axe, "card scanned, searched")
    page = open_page(site.address + f"#digest={'0' * 64}", width, day=PAST)
    assert is_covered(page)
    assert_no_barrier(page, axe, "past its date")


@pytest.mark.parametrize(("width", "look"), [(320, "dark"), (1280, "light")])
def test_the_whole_page_as_it_opens_has_no_barrier(
    site: Site, open_page: Open, axe: Axe, width: int, look: str
) -> None:
    page = open_page(site.address, width, look)
    assert axe(page) == []
    show(page)
    assert axe(page) == []


def test_the_search_for_barriers_finds_one(site: Site, open_page: Open, axe: Axe) -> None:
    page = open_page(site.address)
    show(page)
    page.evaluate(SHORTEN)
    page.evaluate("document.querySelector('#search label').remove()")
    assert any("label" in one for one in axe(page))


@pytest.mark.parametrize("day", ["2026-10-01", PAST])
def test_nothing_is_wider_than_a_narrow_phone(site: Site, open_page: Open, day: str) -> None:
    page = open_page(site.address, 320, day=day)
    show(page)
    page.evaluate("for (const one of document.querySelectorAll('details')) one.open = true")
    page.locator("#search-field").fill("a")
    wide = page.evaluate(
        """[...document.body.querySelectorAll('*')].filter((one) => one.getClientRects().length > 0
             && one.getBoundingClientRect().right > innerWidth + 0.5
             && !one.closest('.hidden, .skip, .chart thead')).map((one) => one.outerHTML.slice(0, 80))"""
    )
    assert wide == []
    assert page.evaluate("document.documentElement.scrollWidth") == 320


@pytest.mark.parametrize(("width", "height"), [(320, 640), (390, 844), (1280, 800)])
def test_the_first_view_is_the_look_up_alone_with_its_first_question(
    site: Site, open_page: Open, width: int, height: int
) -> None:
    page = open_page(site.address, width)
    page.set_viewport_size({"width": width, "height": height})
    box = page.locator("#ask-exposed").bounding_box()
    assert 0 < box["y"] < box["y"] + box["height"] < page.locator(".look-bar").bounding_box()["y"] or width > 1000
    assert box["y"] + box["height"] < height
    for part in ("#whole", "#contents", ".chart", ".rule", ".references", "#search"):
        assert not page.locator(part).first.is_visible()
    who = page.locator(".page-head").inner_text()
    for words in ("Pulp protection under restorations", "Tern Street", "2026.2", "In force", "Use until"):
        assert words in who


def test_the_second_view_is_the_protocol_with_the_exceptions_before_the_chart(site: Site, open_page: Open) -> None:
    page = open_page(site.address)
    show(page)
    assert not page.locator("#look-up").is_visible()
    headings = [one.inner_text() for one in page.locator("main h2:visible").all()]
    assert headings[:3] == ["The protocol", "Exceptions", "The decision chart"]
    tops = [page.locator(one).first.bounding_box()["y"] for one in (".whole > .stop", "#exceptions", "#chart-section")]
    assert tops == sorted(tops)
    assert page.locator("#views a[aria-current]").inner_text() == "Rules and chart"
    page.go_back()
    page.locator("#look-up").wait_for(state="visible")


@pytest.mark.parametrize("place", ["chart-section", "rule-line-a-deep-cavity", "reference-1"])
def test_an_address_of_a_place_in_the_protocol_shows_it(site: Site, open_page: Open, place: str) -> None:
    page = open_page(f"{site.address}#{place}")
    target = page.locator(f"[id='{place}']")
    target.wait_for(state="visible")
    assert 0 <= target.evaluate("one => one.getBoundingClientRect().top") < 850


def test_the_identity_is_seen(site: Site, open_page: Open) -> None:
    page = open_page(site.address)
    show(page)
    text = page.locator(".protocol-head").inner_text()
    for words in ("2026.2", "In force", "1 September 2028", site.digest[:8], "extension 12"):
        assert words in text


# --- without scripts, on paper ----------------------------------------------------------------------------------------


def test_without_scripts_everything_can_be_read(site: Site, open_page: Open) -> None:
    page = open_page(site.address, scripts=False)
    assert page.locator("#no-scripts").is_visible()
    assert not page.locator("#search").is_visible()
    assert page.locator(".chart .cell").first.is_visible()
    assert page.locator(".rule h4").count() == page.locator(".rule summary").count() > 20
    first = page.locator(".rule .why").first
    assert not first.locator(".grounds").is_visible()
    first.locator("summary").click()
    assert first.locator(".grounds").is_visible()


def test_without_scripts_a_draft_is_covered_too(sites: dict[str, Site], open_page: Open) -> None:
    page = open_page(sites["draft"].address, scripts=False)
    assert len(notices(page)) == 3
    assert is_covered_without_scripts(page)


def is_covered_without_scripts(page: Any) -> bool:
    return "covered" in (page.locator("html").get_attribute("class") or "")


@pytest.mark.parametrize("scripts", [True, False])
def test_on_paper_everything_is_unfolded_and_no_contents_are_printed(
    site: Site, open_page: Open, scripts: bool
) -> None:
    page = open_page(site.address, scripts=scripts)
    show(page)
    page.emulate_media(media="print")
    assert all(one.is_visible() for one in page.locator(".rule .grounds").all())
    assert all(one.bounding_box()["height"] > 20 for one in page.locator(".rule .grounds").all()[:3])
    assert not any(one.is_visible() for one in page.locator("nav").all())
    assert not page.locator(".skip").is_visible()


def test_a_print_unfolds_and_folds_again(site: Site, open_page: Open) -> None:
    page = open_page(site.address)
    show(page)
    page.locator(".why summary").nth(1).click()
    closed = page.locator(".why:not([open])").count()
    page.evaluate("dispatchEvent(new Event('beforeprint'))")
    assert page.locator(".why:not([open])").count() == 0
    page.evaluate("dispatchEvent(new Event('afterprint'))")
    assert page.locator(".why:not([open])").count() == closed


# --- by keyboard ------------------------------------------------------------------------------------------------------


def focus(page: Any) -> str:
    found: str = page.evaluate(
        "(document.activeElement.id || document.activeElement.textContent || '').trim().slice(0, 40)"
    )
    return found


def test_a_walk_by_keyboard(site: Site, open_page: Open) -> None:
    page = open_page(site.address, 320)
    page.keyboard.press("Tab")
    assert focus(page) == "Skip to the protocol"
    assert page.locator(".skip").bounding_box()["x"] == 0
    page.keyboard.press("Tab")
    assert focus(page) == "Look up a case"
    page.keyboard.press("Tab")
    page.keyboard.press("Enter")  # to the rules and the chart
    page.locator("#contents").wait_for(state="visible")
    page.locator("#contents summary").focus()
    page.keyboard.press("Enter")
    page.keyboard.press("Tab")
    assert focus(page) == "search-field"
    outline = page.evaluate("getComputedStyle(document.activeElement).outlineStyle")
    assert outline == "solid"
    page.keyboard.type("eugenol")
    page.keyboard.press("Enter")
    assert page.evaluate("document.activeElement.matches('.hits a')")
    page.keyboard.press("Escape")
    assert focus(page) == "search-field"
    assert page.locator("#search-field").input_value() == ""
    page.keyboard.press("Tab")
    assert focus(page) == "Exceptions"


def test_the_skip_link_leads_past_the_contents(site: Site, open_page: Open) -> None:
    page = open_page(site.address, 1280)
    page.keyboard.press("Tab")
    page.keyboard.press("Enter")
    page.keyboard.press("Tab")
    assert page.evaluate("document.activeElement.closest('main') !== null")


# --- search -----------------------------------------------------------------------------------------------------------


def hits(page: Any, question: str) -> list[str]:
    show(page)
    page.locator("#search-field").fill(question)
    return [one.inner_text() for one in page.locator(".hits li").all()]


def test_search_finds_rules_references_and_sections(site: Site, open_page: Open) -> None:
    page = open_page(site.address)
    found = hits(page, "eugenol")
    kinds = {re.match(r"\w+", one)[0] for one in found}  # type: ignore[index]
    assert kinds >= {"Rule", "Section"}
    assert all("eugenol" in one.lower() for one in found)
    assert page.locator("#search [role=status]").inner_text() == f"{len(found)} places found."
    assert any(one.startswith("Reference") for one in hits(page, "10.5555"))


def test_search_takes_all_words_in_any_order_without_accents_and_capitals(site: Site, open_page: Open) -> None:
    page = open_page(site.address)
    either_way = hits(page, "allergy rosin")
    assert len(either_way) > 3
    assert sorted(hits(page, "  ROSIN  állergy")) == sorted(either_way)
    assert "a rosin allergy" in hits(page, "a rosin állergy")[0].split("\n")[0]
    assert hits(page, "rosin zzz") == []
    assert page.locator("#search [role=status]").inner_text().startswith("Nothing found")
    assert not page.locator(".hits").is_visible()
    assert hits(page, "   ") == []
    assert page.locator("#search [role=status]").inner_text() == ""


def test_a_whole_phrase_in_a_title_comes_first(site: Site, open_page: Open) -> None:
    page = open_page(site.address)
    title = page.locator(".rule h4").nth(7).inner_text().split(maxsplit=1)[1]
    assert title in hits(page, title)[0]


def test_a_hit_leads_to_its_rule_and_unfolds_what_was_found(site: Site, open_page: Open) -> None:
    page = open_page(site.address)
    rule = page.locator(".rule").nth(3)
    name = rule.locator(".rule-id").text_content().split(": ")[1]
    [hit] = hits(page, name)
    assert hit.startswith("Rule 4")
    page.locator(".hits a").click()
    assert page.evaluate("location.hash") == f"#{rule.locator('h4').get_attribute('id')}"
    assert rule.locator(".rule-id").is_visible()
    assert 0 <= rule.bounding_box()["y"] < 300


def test_search_marks_what_it_found_where_accents_are_written_apart(site: Site, open_page: Open) -> None:
    page = open_page(site.address)
    page.evaluate("document.querySelector('#cautions + ul').textContent = 'Ångström, cafe\\u0301 crème'")
    assert hits(page, "creme")[0].endswith("crème")
    assert page.locator(".hits mark").inner_text() == "crème"
    hits(page, "cafe")
    assert page.locator(".hits mark").inner_text() == "cafe\u0301"


# --- an edition that must not be used ---------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("state", "words"),
    [
        ("draft", "Draft: do not use for patients. This edition is not in force."),
        ("open findings", "Draft: do not use for patients. In this edition"),
        ("withdrawn", "Withdrawn: do not use for patients."),
    ],
)
def test_a_state_that_must_not_be_used_covers_the_advice(
    sites: dict[str, Site], open_page: Open, state: str, words: str
) -> None:
    page = open_page(sites[state].address)
    said = page.locator("header .identity").inner_text()
    status = "Withdrawn, not to be used" if state == "withdrawn" else "Draft, not in force"
    assert said.endswith(status), said  # and no day to use it until
    found = notices(page)
    assert len(found) == 3
    assert all(one.startswith(words) and "A. Marsh, extension 12" in one for one in found)
    assert is_covered(page)
    assert page.locator("#strip").is_visible()


@pytest.mark.parametrize("day", ["2026-09-01", "2028-09-01"])
def test_within_its_days_an_edition_is_not_covered(site: Site, open_page: Open, day: str) -> None:
    page = open_page(site.address, day=day)
    assert not is_covered(page)
    assert notices(page) == []
    assert not page.locator("#strip").is_visible()


@pytest.mark.parametrize(
    ("day", "words"),
    [
        (PAST, "Past its date: do not use for patients. This edition was to be used until 1 September 2028."),
        ("2026-08-31", "Not yet in force: do not use for patients."),
    ],
)
def test_outside_its_days_an_edition_is_covered(site: Site, open_page: Open, day: str, words: str) -> None:
    page = open_page(site.address, day=day)
    assert is_covered(page)
    found = notices(page)
    assert len(found) == 3
    assert all(one.startswith(words) and "A. Marsh, extension 12" in one for one in found)
    assert page.locator("#strip").inner_text() == words[: words.index(".") + 1]
    status = "Expired, not to be used" if day == PAST else "Not yet in force"
    for said in (page.locator("header .identity"), page.locator(".page-foot")):
        assert status in said.inner_text()
        assert "In force" not in re.sub("In force from", "", said.inner_text())


def test_a_page_left_open_over_its_last_night_is_covered(site: Site, open_page: Open) -> None:
    page = open_page("about:blank", day="")
    page.clock.install(time=datetime(2028, 9, 1, 22, 58, tzinfo=UTC))  # two minutes to midnight in London
    page.goto(site.address)
    assert not is_covered(page)
    page.clock.run_for("03:00")
    assert is_covered(page)
    assert notices(page)[0].startswith("Past its date")


def test_the_cover_is_seen_in_forced_colours_and_on_paper(site: Site, open_page: Open) -> None:
    page = open_page(site.address, look="forced", day=PAST)
    border = page.locator("section.look-up").evaluate("(one) => getComputedStyle(one).borderTopWidth")
    assert border == "4px"
    page.emulate_media(media="print")
    assert len(notices(page)) == 1  # the look-up is printed alone


def sheets(page: Any) -> list[str]:
    """The text of every sheet that the browser prints of the protocol."""
    pdfium = pytest.importorskip("pypdfium2")
    show(page)
    page.evaluate(SHORTEN)
    document = pdfium.PdfDocument(page.pdf(prefer_css_page_size=True, format="A4", print_background=False))
    return [" ".join(sheet.get_textpage().get_text_range().split()) for sheet in document]


@pytest.mark.parametrize(
    ("state", "day", "scripts", "words"),
    [
        ("open findings", "2026-10-01", True, "DRAFT: do not use"),
        ("open findings", "2026-10-01", False, "DRAFT: do not use"),
        ("withdrawn", "2026-10-01", True, "WITHDRAWN: do not use"),
        ("usual", PAST, True, "Past its date: do not use for patients."),
        ("usual", "2026-08-31", True, "Not yet in force: do not use for patients."),
        ("usual", "2026-10-01", True, ""),
    ],
)
def test_every_sheet_that_is_printed_bears_the_mark(
    site: Site, sites: dict[str, Site], open_page: Open, state: str, day: str, scripts: bool, words: str
) -> None:
    page = open_page((site if state == "usual" else sites[state]).address, day=day, scripts=scripts)
    printed = sheets(page)
    assert len(printed) > 2
    assert [text[:80] for text in printed if words not in text] == []
    assert words or not any("do not use" in text for text in printed)


# --- a scanned card ---------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("code", "day", "words"),
    [
        ("{digest}", "2026-10-01", "The card you scanned is of this edition, 2026.2."),
        ("{DIGEST}", "2026-10-01", "The card you scanned is of this edition, 2026.2."),
        ("{digest}", PAST, "The card you scanned is of this edition, 2026.2, which must not be used: take it down."),
        ("0" * 64, "2026-10-01", "The card you scanned is of another edition than this page, 2026.2: take it down."),
        ("{short}", "2026-10-01", "The code you scanned does not name an edition: do not use the card."),
        ("", "2026-10-01", "The code you scanned does not name an edition: do not use the card."),
    ],
)
def test_a_scanned_card_is_held_against_this_edition(
    site: Site, open_page: Open, code: str, day: str, words: str
) -> None:
    code = code.format(digest=site.digest, DIGEST=site.digest.upper(), short=site.digest[:63])
    page = open_page(f"{site.address}#digest={code}", day=day)
    line = page.locator("#card-check")
    assert line.is_visible()
    assert line.inner_text().startswith(words)
    assert line.bounding_box()["y"] < 100


def test_no_card_scanned_nothing_said(site: Site, open_page: Open) -> None:
    page = open_page(site.address + "#rules")
    assert not page.locator("#card-check").is_visible()
    page.evaluate(f"location.hash = 'digest={site.digest}'")
    page.locator("#card-check").wait_for(state="visible")


# --- as a file, and without a network ---------------------------------------------------------------------------------


def test_as_a_file_the_page_asks_for_nothing_else(site: Site, open_page: Open, told: Told, tmp_path: Path) -> None:
    alone = Path(shutil.copy(site.page, tmp_path / "page.html"))
    page = open_page(alone.as_uri())
    hits(page, "eugenol")
    settled(page)
    assert [one for one in told.requests if not one.startswith("data:")] == [alone.as_uri()]
    assert page.evaluate("document.fonts.check('700 20px \"Source Sans Pro\"')")
    assert page.locator("link[rel=manifest]").count() == 0


def installed(page: Any) -> None:
    show(page)
    page.locator("#offline").wait_for(state="visible")
    assert page.locator("#offline").inner_text().startswith("This device keeps a copy")


def test_no_request_leaves_the_site(server: str, open_page: Open, told: Told) -> None:
    page = open_page(server)
    installed(page)
    hits(page, "eugenol")
    page.reload()
    settled(page)
    asked = {one for one in told.requests if not one.startswith("data:")}
    assert asked <= {server + name for name in ("", "index.html", "sw.js", "manifest.webmanifest", "icon.svg")}


def test_the_policy_lets_a_script_ask_for_nothing(server: str, open_page: Open, told: Told) -> None:
    page = open_page(server)
    refused = page.evaluate("fetch('icon.svg').then(() => 'fetched', () => 'refused')")
    assert refused == "refused"
    assert all("Content Security Policy" in one or "Content-Security-Policy" in one for one in told.errors)
    told.errors.clear()


def test_the_page_opens_again_without_a_network(site: Site, open_page: Open) -> None:
    with served(site.page.parent) as address:
        page = open_page(address)
        installed(page)
        page.reload()
        for name in ("", "index.html", "?from=card"):
            page.context.set_offline(True)
            page.goto(address + name)
            assert page.locator("h1").inner_text() == "Pulp protection under restorations"
        assert hits(page, "eugenol")
    # The server itself is gone now: nothing but the copy is left.
    page.context.set_offline(False)
    page.goto(address + f"#digest={site.digest}")
    page.reload()
    assert page.locator("#card-check").inner_text().startswith("The card you scanned is of this edition")


def test_a_new_edition_is_seen_at_the_next_visit_and_the_old_copy_goes(
    sites: dict[str, Site], open_page: Open, tmp_path: Path
) -> None:
    folder = Path(shutil.copytree(sites["in force"].page.parent, tmp_path / "served"))
    with served(folder) as address:
        page = open_page(address)
        installed(page)
        kept = page.evaluate("caches.keys()")
        assert len(kept) == 1
        assert sites["in force"].digest in kept[0]
        page.evaluate("caches.open('somebody else’s')")
        shutil.copytree(sites["next"].page.parent, folder, dirs_exist_ok=True)
        page.goto(address)
        assert page.locator("body").get_attribute("data-edition") == "2027.1"
        page.wait_for_function(
            """async (digest) => {
              const kept = await caches.keys();
              return kept.length === 2 && kept.some((name) => name.includes(digest));
            }""",
            arg=sites["next"].digest,
        )  # the old copy goes
        page.context.set_offline(True)
        page.reload()
        assert page.locator("body").get_attribute("data-edition") == "2027.1"


def test_two_sites_of_one_server_keep_their_own_copies(sites: dict[str, Site], open_page: Open, tmp_path: Path) -> None:
    for name, state in (("a", "in force"), ("b", "next")):
        shutil.copytree(sites[state].page.parent, tmp_path / name)
    with served(tmp_path) as address:
        page = open_page(address + "a/")
        installed(page)
        page.goto(address + "b/")
        installed(page)
        page.context.set_offline(True)
        for name, edition in (("a", "2026.2"), ("b", "2027.1")):
            page.goto(address + f"{name}/index.html")
            assert page.locator("body").get_attribute("data-edition") == edition


def test_the_manifest_can_be_installed(server: str, open_page: Open) -> None:
    page = open_page(server)
    session = page.context.new_cdp_session(page)
    told = session.send("Page.getAppManifest")
    assert told["errors"] == []
    assert told["url"] == server + "manifest.webmanifest"
    found = session.send("Page.getInstallabilityErrors")["installabilityErrors"]
    # A private window may never install.
    assert [one for one in found if one["errorId"] != "in-incognito"] == []


# --- hostile texts ----------------------------------------------------------------------------------------------------


def test_hostile_texts_of_authors_run_nothing(demonstration: Path, tmp_path: Path, open_page: Open) -> None:
    attack = (
        "<img src=x onerror='window.pwned=1'><script>window.pwned=1</script>\\\"'\" onfocus='window.pwned=1' autofocus"
    )
    protocol = Path(shutil.copytree(demonstration, tmp_path / "protocol"))

    def with_attack(found: re.Match[str]) -> str:
        return found[1] + "'" + f"{found[2]} {attack}".replace("'", "''") + "'"

    for place in (*protocol.glob("*.yaml"), *protocol.glob("rules/*.md")):
        text = place.read_text("utf-8")
        lines = r"^( *(?:title|label|contact|because|note|scope|practice): )(?![>|\[{'\"])([^#\n]*)$"
        changed = re.sub(lines, with_attack, text, flags=re.MULTILINE)
        place.write_text(changed, "utf-8")
    page = open_page(put(make_site(protocol), tmp_path / "site").as_uri())
    assert "<img src=x" in page.locator("h1").inner_text()
    assert len(hits(page, "onerror")) > 10
    page.evaluate("for (const one of document.querySelectorAll('details')) one.open = true")
    page.evaluate("location.hash = `digest=<img src=x onerror='window.pwned=1'>`")
    settled(page)
    assert page.evaluate("window.pwned") is None
    assert page.locator("img, [onerror], [onfocus], [autofocus]").count() == 0
