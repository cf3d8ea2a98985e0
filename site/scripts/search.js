// Search over sections, rules and references: all the words of the question, wherever they stand, whatever their
// accents and capitals. Nothing is looked up elsewhere: the page searches itself.

const SEARCH_MOST = 30;
const SEARCH_MARKS = /\p{M}/gu;
const SEARCH_LEFT_OUT = "summary, .rule-number, .reference-number, .under, .hidden, .cover-notice, svg, [hidden]";

/** A text as it is compared: without accents, in small letters, every run of blanks one blank. */
function searchFold(text) {
  return text.normalize("NFD").replace(SEARCH_MARKS, "").toLowerCase().replace(/\s+/g, " ").trim();
}

/**
 * How well an entry answers a question of folded words: 0 not at all, more is better.
 *
 * An entry is `{title, text}`, both folded. All words must occur; the whole question as it was written counts for
 * more than its words alone, and a title for more than a text.
 */
function searchScore(entry, question) {
  const words = question.split(" ");
  if (!words.every((word) => entry.title.includes(word) || entry.text.includes(word))) return 0;
  if (entry.title.includes(question)) return 4;
  if (words.every((word) => entry.title.includes(word))) return 3;
  return entry.text.includes(question) ? 2 : 1;
}

/** The entries that answer a question, the best first, else in the order of the page. */
function searchFind(entries, question) {
  const folded = searchFold(question);
  if (!folded) return [];
  return entries
    .map((entry) => ({ entry, score: searchScore(entry, folded) }))
    .filter(({ score }) => score > 0)
    .sort((one, other) => other.score - one.score)
    .map(({ entry }) => entry);
}

/** Where a folded word stands in a text as it is written: start and end, or null. */
function searchPlace(text, word) {
  const starts = [];
  let folded = "";
  let at = 0;
  for (const sign of text) {
    const plain = sign.normalize("NFD").replace(SEARCH_MARKS, "").toLowerCase();
    for (let count = 0; count < plain.length; count += 1) starts.push(at);
    folded += plain;
    at += sign.length;
  }
  starts.push(text.length);
  const found = folded.indexOf(word);
  return found < 0 ? null : [starts[found], starts[found + word.length]];
}

/** Text of an element, with a blank between blocks, without what only stands around it and without `title`. */
function searchText(element, title = null) {
  const parts = [];
  const walker = document.createTreeWalker(element, NodeFilter.SHOW_TEXT);
  while (walker.nextNode()) {
    const text = walker.currentNode;
    if (title?.contains(text) || text.parentElement.closest(SEARCH_LEFT_OUT)) continue;
    parts.push(text.data);
  }
  return parts.join(" ").replace(/\s+/g, " ").trim();
}

function searchEntry(kind, title, text, place) {
  return { kind, place, shownTitle: title, shownText: text, title: searchFold(title), text: searchFold(text) };
}

/** All that can be found: rules, sections that hold no rules, references. */
function searchEntries() {
  const found = [];
  for (const section of document.querySelectorAll("main section[data-search]")) {
    const heading = section.querySelector("h2");
    const parts = section.querySelectorAll("[data-part]");
    if (parts.length === 0) {
      found.push(searchEntry(say("section"), heading.textContent.trim(), searchText(section, heading), heading.id));
    }
    for (const part of parts) {
      const title = part.querySelector("h4");
      const words = title ? searchText(title) : "";
      found.push(searchEntry(part.dataset.part, words, searchText(part, title), title?.id || part.id));
    }
  }
  return found;
}

/** A line of text around the first word found, with that word marked. */
function searchSnippet(text, words) {
  const line = document.createElement("span");
  line.className = "snippet";
  const places = words.map((word) => searchPlace(text, word)).filter((place) => place !== null);
  const [start, end] = places.sort((one, other) => one[0] - other[0])[0] ?? [0, 0];
  let from = Math.max(0, start - 40);
  if (from > 0) from = text.indexOf(" ", from) + 1 || from;
  if (from > start) from = start;
  const mark = document.createElement("mark");
  mark.textContent = text.slice(start, end);
  const tail = text.slice(end, end + 70);
  line.append(from > 0 ? "… " : "", text.slice(from, start), mark, tail, end + 70 < text.length ? " …" : "");
  return line;
}

function searchHit(entry, words) {
  const item = document.createElement("li");
  const link = document.createElement("a");
  link.href = `#${entry.place}`;
  const kind = document.createElement("span");
  kind.className = "hit-kind";
  kind.textContent = entry.kind;
  const title = document.createElement("b");
  title.textContent = entry.shownTitle;
  link.append(kind, " ", title);
  link.addEventListener("click", () => searchOpen(entry, words));
  item.append(link, searchSnippet(entry.shownText, words));
  return item;
}

/** Unfolds the part that a hit leads to, where its words are folded away. */
function searchOpen(entry, words) {
  const part = document.getElementById(entry.place)?.closest("[data-part]");
  for (const fold of part?.querySelectorAll("details") ?? []) {
    const inside = searchFold(searchText(fold));
    if (words.some((word) => inside.includes(word))) fold.open = true;
  }
}

function searchCount(count) {
  if (count === 0) return say("nothing-found");
  return count > SEARCH_MOST ? say("many-found", { count, most: SEARCH_MOST }) : say("found", { count });
}

/** Makes the search field work. */
function searchStart() {
  const form = document.getElementById("search");
  const field = form.querySelector("input");
  const told = form.querySelector("[role=status]");
  const list = form.querySelector(".hits");
  let entries = null;
  let asked = "";
  const show = () => {
    const question = searchFold(field.value);
    if (question === asked) return;
    asked = question;
    entries ??= searchEntries();
    const found = searchFind(entries, question);
    const words = question.split(" ");
    list.replaceChildren(...found.slice(0, SEARCH_MOST).map((entry) => searchHit(entry, words)));
    list.hidden = found.length === 0;
    told.textContent = question ? searchCount(found.length) : "";
  };
  field.addEventListener("input", show);
  field.addEventListener("search", show);
  form.addEventListener("submit", (event) => {
    event.preventDefault();
    show();
    list.querySelector("a")?.focus();
  });
  form.addEventListener("keydown", (event) => {
    if (event.key !== "Escape") return;
    event.preventDefault();
    field.value = "";
    show();
    field.focus();
  });
  form.hidden = false;
}
