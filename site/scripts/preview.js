// The window of `liningbook preview`. It is no part of the page: it holds the page in a frame, loads the next one behind
// it when the sources have changed, and hands over where the reader was and what had been entered. All of that is kept
// in variables of this tab only.

const frames = document.querySelector(".preview-frames");
const lost = document.querySelector(".preview-lost");
let shown = null;
let coming = null;
let version = "";

const changes = new EventSource("/events");
changes.addEventListener("message", (event) => {
  lost.hidden = true;
  if (event.data !== version) {
    version = event.data;
    load();
  }
});
changes.addEventListener("error", () => {
  lost.hidden = false;
});

function load() {
  coming?.remove();
  const frame = document.createElement("iframe");
  frame.title = frames.dataset.page;
  frame.className = "coming";
  frame.src = "/page" + (shown?.contentWindow.location.hash ?? location.hash);
  frame.addEventListener("load", () => arrive(frame), { once: true });
  coming = frame;
  frames.append(frame);
}

function arrive(frame) {
  if (frame !== coming) return;
  const page = frame.contentDocument;
  if (!page || page.querySelector("title") === null) {
    // The preview went away while the page was loaded; the next message loads it again.
    frame.remove();
    coming = null;
    version = "";
    return;
  }
  const before = shown ? look(shown) : null;
  page.addEventListener("click", openElsewhere, true);
  if (before) {
    enter(page, before.entries);
    unfold(page, before.unfolded);
    turn(frame, before);
    goTo(frame, before);
  }
  frame.className = "";
  document.title = frames.dataset.title.replace("{title}", () => page.title);
  const old = shown;
  shown = frame;
  coming = null;
  if (before) {
    // Some entries can be made only once an earlier one has taken effect.
    enter(page, before.entries);
    goTo(frame, before);
    if (document.activeElement === old) focusAgain(frame, before.focus);
  }
  old?.remove();
}

// --- what the reader has done -----------------------------------------------------------------------------------------

function look(frame) {
  const page = frame.contentDocument;
  const focus = page.activeElement;
  return {
    entries: [...page.querySelectorAll("input, select, textarea")].map((field) => ({
      id: field.id,
      type: field.type,
      name: field.name,
      value: field.value,
      checked: field.checked === true,
    })),
    view: page.documentElement.dataset.view ?? "",
    unfolded: new Map([...page.querySelectorAll("details")].map((part) => [nameOf(part), part.open])),
    top: frame.contentWindow.scrollY,
    marks: marksOf(page),
    focus: focus && focus !== page.body ? { id: focus.id, name: focus.name ?? "", value: focus.value ?? "" } : null,
  };
}

function nameOf(part) {
  const near = part.id || part.closest("article, section")?.querySelector("[id]")?.id || "";
  return `${near} ${part.querySelector("summary")?.textContent ?? ""}`;
}

// The named places nearest to the top of what is seen, the nearest first, with how far below it they stand.
function marksOf(page) {
  return [...page.querySelectorAll("main [id], main[id]")]
    .filter((place) => place.getClientRects().length > 0)
    .map((place) => ({ id: place.id, at: place.getBoundingClientRect().top }))
    .sort((one, other) => Math.abs(one.at) - Math.abs(other.at))
    .slice(0, 50);
}

// --- doing it again in the new page -----------------------------------------------------------------------------------

function enter(page, entries) {
  for (const entry of entries) {
    const field = fieldFor(page, entry);
    if (!field || field.disabled) continue;
    if (entry.type === "radio" || entry.type === "checkbox") {
      if (field.checked !== entry.checked && (entry.checked || entry.type === "checkbox")) field.click();
    } else if (field.value !== entry.value && canHold(field, entry.value)) {
      field.value = entry.value;
      for (const kind of ["input", "change"]) field.dispatchEvent(new Event(kind, { bubbles: true }));
    }
  }
}

function fieldFor(page, entry) {
  const fields = [...page.querySelectorAll("input, select, textarea")].filter((field) => field.type === entry.type);
  if (entry.type === "radio" || entry.type === "checkbox") {
    const same = (field) => field.name === entry.name && field.value === entry.value;
    return fields.find((field) => (entry.name ? same(field) : field.id === entry.id && entry.id !== ""));
  }
  return fields.find((field) => (entry.id ? field.id === entry.id : entry.name !== "" && field.name === entry.name));
}

function canHold(field, value) {
  return field.tagName !== "SELECT" || [...field.options].some((option) => option.value === value);
}

function unfold(page, unfolded) {
  for (const part of page.querySelectorAll("details")) part.open = unfolded.get(nameOf(part)) ?? part.open;
}

// The view that the reader was in: the place in the address, a finding that was settled, may be gone.
function turn(frame, before) {
  const page = frame.contentDocument;
  if (page.documentElement.dataset.view === before.view || !page.getElementById(before.view)) return;
  const address = new URL(frame.contentWindow.location.href);
  address.hash = before.view;
  frame.contentWindow.addEventListener("hashchange", () => goTo(frame, before), { once: true });
  frame.contentWindow.location.replace(address.href);
}

function goTo(frame, before) {
  const page = frame.contentDocument;
  const mark = before.top > 0 && before.marks.find((one) => page.getElementById(one.id)?.getClientRects().length);
  const now = frame.contentWindow.scrollY;
  const top = mark ? now + page.getElementById(mark.id).getBoundingClientRect().top - mark.at : before.top;
  frame.contentWindow.scrollTo({ top, behavior: "instant" });
}

function focusAgain(frame, focus) {
  frame.focus();
  if (!focus) return;
  const page = frame.contentDocument;
  const named = [...page.querySelectorAll("input, select, textarea")].find(
    (field) => focus.name !== "" && field.name === focus.name && field.value === focus.value,
  );
  const field = focus.id ? page.getElementById(focus.id) : named;
  field?.focus({ preventScroll: true });
}

// Other sites may refuse to stand in a frame.
function openElsewhere(event) {
  const link = event.target.closest?.("a[href]");
  if (link && link.origin !== location.origin) {
    link.target = "_blank";
    link.rel = "noreferrer";
  }
}
