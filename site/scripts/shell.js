// What stands around the look-up: the cover of an edition that must not be used, the check of a scanned card, the
// contents that fold on a narrow screen, details that open for printing, and the start of search and of the copy kept.
//
// It stands first in the page, so that an edition is covered even if something after it fails.

/** A day as YEAR-MONTH-DAY by the clock of the device, where the device stands. */
function shellDay(now) {
  const two = (number) => String(number).padStart(2, "0");
  return `${String(now.getFullYear()).padStart(4, "0")}-${two(now.getMonth() + 1)}-${two(now.getDate())}`;
}

/**
 * Why the advice must not be used, in words for the reader; nothing if it may be used.
 *
 * A draft and a withdrawn edition are covered for good; any other by the date of the device: after the last day of use,
 * and before the edition comes into force.
 */
function coverReason(now = new Date()) {
  const told = document.body.dataset;
  return told.cover || told[shellDated(now)] || "";
}

/** What the date says of an edition, a name in the data of the page: `past`, `early`, or nothing. */
function shellDated(now = new Date()) {
  const told = document.body.dataset;
  const day = shellDay(now);
  if (told.useUntil && day > told.useUntil) return "past";
  return told.useFrom && day < told.useFrom ? "early" : "";
}

/** Puts the cover on or takes it off; tells the document when that changes. */
function shellCover() {
  const reason = coverReason();
  const root = document.documentElement;
  if (reason === root.dataset.reason) return;
  root.dataset.reason = reason;
  root.classList.toggle("covered", reason !== "");
  for (const notice of document.querySelectorAll("[data-cover-text]")) {
    notice.textContent = reason;
    notice.closest(".cover-notice").hidden = reason === "";
  }
  for (const said of document.querySelectorAll("[data-status-on]")) {
    const told = { on: said.dataset.statusOn, past: said.dataset.statusPast, early: said.dataset.statusEarly };
    said.textContent = told[(!document.body.dataset.cover && shellDated()) || "on"];
  }
  const strip = document.getElementById("strip");
  if (!document.body.dataset.cover) {
    strip.firstElementChild.textContent = document.body.dataset[`${shellDated()}Strip`] ?? "";
    strip.hidden = reason === "";
    root.style.setProperty("--printed-mark", reason ? JSON.stringify(strip.textContent) : "none");
  }
  document.dispatchEvent(new Event("coverchange"));
}

/** The digest in the address (`#digest=…`), in small letters; null if the address names none. */
function shellScanned() {
  return new URLSearchParams(location.hash.slice(1)).get("digest")?.trim().toLowerCase() ?? null;
}

/** Says whether the card whose code was scanned is of this very edition. */
function shellCardCheck() {
  const scanned = shellScanned();
  const line = document.getElementById("card-check");
  line.hidden = scanned === null;
  if (scanned === null) return;
  const told = document.body.dataset;
  const whole = /^[0-9a-f]{64}$/.test(scanned);
  const same = whole && scanned === told.digest;
  const kind = same ? (coverReason() ? "cardCovered" : "cardSame") : whole ? "cardOther" : "cardUnread";
  line.textContent = line.dataset[kind];
  line.dataset.result = same && !coverReason() ? "same" : "other";
}

/** Where the reader was in each of the two views. */
const shellPlaces = {};

/**
 * Shows the view that the address asks for: the protocol for a place in it, the look-up for anything else. Without
 * scripts both stand one below the other.
 */
function shellView() {
  const root = document.documentElement;
  const place = document.getElementById(location.hash.slice(1));
  const before = root.dataset.view;
  const isWhole = place?.closest(".whole, .contents") ?? (place && !place.closest(".look-up") && before === "protocol");
  const view = isWhole ? "protocol" : "look-up";
  if (view === before) return;
  if (before) shellPlaces[before] = scrollY;
  root.dataset.view = view;
  for (const link of document.querySelectorAll("#views a"))
    if (link.hash === `#${view}`) link.setAttribute("aria-current", "true");
    else link.removeAttribute("aria-current");
  // The place was hidden when the browser looked for it.
  if (isWhole) location.replace(location.hash);
  else if (before) scrollTo({ top: shellPlaces[view] ?? 0, behavior: "instant" });
}

/** Opens the contents beside the text on a wide screen; on a narrow one they stay folded until asked for. */
function shellContents() {
  const fold = document.getElementById("contents");
  const wide = matchMedia("(min-width: 64rem)");
  const set = () => {
    fold.open = wide.matches;
  };
  wide.addEventListener("change", set);
  set();
}

/** Everything that is folded is open while the page is printed, and as before afterwards. */
function shellPrinting() {
  let opened = [];
  addEventListener("beforeprint", () => {
    opened = [...document.querySelectorAll("main details:not([open])")];
    for (const one of opened) one.open = true;
  });
  addEventListener("afterprint", () => {
    for (const one of opened) one.open = false;
    opened = [];
  });
}

shellCover();
shellCardCheck();
if (document.getElementById("views")) {
  document.getElementById("views").hidden = false;
  shellView();
  addEventListener("hashchange", shellView);
}
setInterval(shellCover, 30_000);
addEventListener("pageshow", shellCover);
addEventListener("hashchange", shellCardCheck);
document.addEventListener("visibilitychange", shellCover);
document.addEventListener("coverchange", shellCardCheck);
document.addEventListener("DOMContentLoaded", () => {
  const words = JSON.parse(document.getElementById("words").textContent);
  sayStart(words);
  document.getElementById("no-scripts").hidden = true;
  shellContents();
  shellPrinting();
  searchStart();
  offlineStart();
  lookupStart(words, coverReason);
});
