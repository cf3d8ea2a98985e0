// The questions of the look-up, one for each factor. Nothing is chosen beforehand, and nothing is kept.

import { evaluatePut } from "./evaluate.mjs";
import { Exact, NotAQuantity, parseQuantity } from "./exact.mjs";
import { factorUnread } from "./factor.mjs";
import { nodesMake } from "./nodes.mjs";
import { wordsNumber, wordsScale } from "./words.mjs";

/** So many values are buttons to choose from; more are a list that unfolds. */
const ASKING_MOST_BUTTONS = 9;
/** Milliseconds without a key after which a number counts as typed. */
const ASKING_PAUSE = 500;
const ASKING_THOUSANDS = /^[+-]?[1-9][0-9]{0,2}(?:,[0-9]{3})+$/;

/**
 * A question: `id`, `label`, `element`, and
 * `state()`: `{kind}`, one of `empty`, `typing`, `wrong` (with `message`), `given` (with `name` and `text` for `answer`);
 * `clear()`; `fill(name, text)`, which returns what is wrong with the text, or nothing; `focus()`; `warn(text)`, which
 * says beside the question what is strange about an answer that can be taken.
 * `changed` is called after every change.
 */
export function askingMake(frame, compiled, factor, changed) {
  const others = askingOthers(frame, factor.id);
  const problem = (name, text) => {
    try {
      evaluatePut(compiled, { ...others, [name]: text });
      return "";
    } catch (error) {
      if (error.name !== "BadCase") throw error;
      return askingSentence(error.message);
    }
  };
  const isRead = factorUnread(compiled.factors.get(factor.id)) === "";
  if (factor.kind === "quantity") return askingQuantity(frame, factor, isRead, problem, changed);
  return askingChoice(factor, problem, changed);
}

/** Some value for every other factor: a factor's own text is tried among them. */
function askingOthers(frame, id) {
  const values = [...frame.factors.values()].filter((factor) => factor.id !== id);
  const some = ({ kind, at_least, values: list }) => (kind === "quantity" ? at_least : kind === "choice" ? list[0].id : "no");
  return Object.fromEntries(values.map((factor) => [factor.id, some(factor)]));
}

/** A message as a sentence: a capital at its head, a full stop, and quotation marks for what is to be written. */
function askingSentence(text) {
  const quoted = text.replace(/\x60([^\x60]*)\x60/g, "“$1”");
  const [head, ...rest] = quoted.split("; ");
  return [head, ...rest].map((part) => `${part[0].toUpperCase()}${part.slice(1)}.`.replace("..", ".")).join(" ");
}

function askingFieldset(factor, kind, ...children) {
  const legend = nodesMake("legend", {}, factor.label);
  return nodesMake("fieldset", { class: `ask ask-${kind}`, id: `ask-${factor.id}` }, legend, ...children);
}

function askingMark(element, state) {
  element.dataset.state = state;
}

/** Buttons of which one can be chosen: `[id, label]` pairs. */
function askingButtons(name, values, onChange) {
  return values.map(([id, label]) => {
    const button = nodesMake("input", { type: "radio", name, value: id, autocomplete: "off" });
    button.addEventListener("change", onChange);
    return { button, element: nodesMake("label", { class: "pick" }, button, nodesMake("span", {}, label)) };
  });
}

// --- a choice -----------------------------------------------------------------------------------------------------------

function askingChoice(factor, problem, changed) {
  const isYesNo = factor.kind === "yes-no";
  const values = isYesNo ? [["yes", "Yes"], ["no", "No"]] : factor.values.map(({ id, label }) => [id, label]);
  const known = values.map(([id]) => id);
  const control =
    values.length > ASKING_MOST_BUTTONS ? askingList(factor, values, update) : askingRow(factor, values, update);
  const element = askingFieldset(factor, isYesNo ? "yes-no" : "choice", control.element);
  const state = () => (control.value() ? { kind: "given", name: factor.id, text: control.value() } : { kind: "empty" });
  function update() {
    askingMark(element, state().kind);
    changed();
  }
  const set = (value) => {
    control.set(value);
    askingMark(element, state().kind);
  };
  const fill = (name, text) => {
    const wrong = problem(name, text);
    if (!wrong) set(known.find((id) => id === text.trim()));
    return wrong;
  };
  set("");
  const clear = () => set("");
  return { id: factor.id, label: factor.label, element, state, clear, fill, focus: control.focus, warn: () => {} };
}

function askingRow(factor, values, update) {
  const buttons = askingButtons(`ask-${factor.id}`, values, update);
  return {
    element: nodesMake("div", { class: "picks" }, buttons.map((one) => one.element)),
    value: () => buttons.find((one) => one.button.checked)?.button.value ?? "",
    set: (value) => {
      for (const { button } of buttons) button.checked = button.value === value;
    },
    focus: () => (buttons.find((one) => one.button.checked) ?? buttons[0]).button.focus(),
  };
}

function askingList(factor, values, update) {
  const options = [["", "Choose …"], ...values].map(([value, label]) => nodesMake("option", { value }, label));
  const list = nodesMake("select", { "aria-label": factor.label, autocomplete: "off" }, options);
  list.addEventListener("change", update);
  return {
    element: list,
    value: () => list.value,
    set: (value) => {
      list.value = value;
    },
    focus: () => list.focus(),
  };
}

// --- a quantity -----------------------------------------------------------------------------------------------------------

/** `isRead` says whether a reading can be given in place of the value. */
function askingQuantity(frame, factor, isRead, problem, changed) {
  const told = frame.words.factors[factor.id];
  const unit = frame.units.get(factor.unit);
  const id = `ask-${factor.id}`;
  const label = nodesMake("label", { for: `${id}-number` });
  const field = nodesMake("input", {
    id: `${id}-number`, type: "text", inputmode: "decimal", autocomplete: "off", spellcheck: "false", maxlength: "60",
    "aria-describedby": `${id}-limits ${id}-error`,
  });
  const slider = nodesMake("input", { type: "range", min: "0", step: "1", autocomplete: "off" });
  const shownUnit = nodesMake("span", { class: "ask-unit" }, unit.symbol);
  const limits = nodesMake("p", { class: "ask-limits", id: `${id}-limits` });
  const error = nodesMake("p", { class: "ask-error", id: `${id}-error` });
  const number = nodesMake(
    "div", { class: "ask-number" }, label,
    nodesMake("div", { class: "ask-field" }, field, shownUnit),
    slider, limits, error,
  );
  const ways = isRead
    ? askingButtons(`${id}-way`, [["value", "The value itself"], ["reading", askingCapital(told.read)]], onWay)
    : [];
  const how = ways.length
    ? nodesMake(
        "div", { class: "ask-way", role: "radiogroup", "aria-label": `${factor.label}: what you have` },
        nodesMake("p", { class: "ask-lead", "aria-hidden": "true" }, "What do you have?"),
        nodesMake("div", { class: "picks" }, ways.map((one) => one.element)),
      )
    : "";
  const about = isRead
    ? nodesMake("details", { class: "ask-about" }, nodesMake("summary", {}, `How a ${told.read} is taken`), nodesMake("p", {}, told.how))
    : null;
  const element = askingFieldset(factor, "quantity", how, number, about);
  let scale = null;
  let timer = 0;
  let now = { kind: "empty" };

  const way = () => (ways.length ? ways.find((one) => one.button.checked)?.button.value ?? "" : "value");
  const name = () => (way() === "reading" ? `${factor.id}.reading` : factor.id);

  function show(state) {
    now = state;
    askingMark(element, state.kind);
    error.textContent = state.kind === "wrong" ? state.message : "";
    shownUnit.hidden = /\p{L}|%/u.test(field.value);
    field.setAttribute("aria-invalid", String(state.kind === "wrong"));
    slider.classList.toggle("unset", state.kind !== "given");
    if (state.kind !== "given") {
      slider.value = "0";
      slider.setAttribute("aria-valuetext", "not set");
    }
  }

  /** Lays out number and slider for the way that was chosen; without one there is nothing to fill in. */
  function lay() {
    const chosen = way();
    number.hidden = !chosen;
    if (about) about.hidden = chosen !== "reading";
    if (!chosen) return;
    scale = wordsScale(frame, factor, chosen === "reading");
    slider.max = String(scale.count);
    const what = chosen === "reading" ? askingCapital(told.read) : ways.length ? "Value" : "Number";
    label.textContent = unit.symbol ? `${what} in ${unit.symbol}` : what;
    field.setAttribute("aria-label", `${factor.label}: ${label.textContent}`);
    slider.setAttribute("aria-label", `${factor.label}: ${what.toLowerCase()}, slider`);
    limits.textContent = chosen === "reading" && factor.reading.method ? `Read off by: ${factor.reading.method}` : told.values;
  }

  function onWay() {
    clearTimeout(timer);
    field.value = "";
    lay();
    show({ kind: "empty" });
    changed();
  }

  /** Takes what stands in the field. */
  function take() {
    clearTimeout(timer);
    const text = askingText(field.value, factor);
    if (!text) {
      show({ kind: "empty" });
      return;
    }
    const message = problem(name(), text);
    if (message) {
      show({ kind: "wrong", message });
      return;
    }
    show({ kind: "given", name: name(), text });
    place(text);
  }

  /** Puts the slider where the number is, as near as its steps and ends allow; it says the number itself. */
  function place(text) {
    const value = parseQuantity(text, factor.unit, frame.units);
    const steps = value.minus(scale.low).over(scale.step).plus(new Exact(1n, 2n)).floor();
    const most = BigInt(scale.count);
    slider.value = String(steps < 0n ? 0n : steps > most ? most : steps);
    slider.setAttribute("aria-valuetext", wordsNumber(value, unit));
  }

  function onSlide() {
    clearTimeout(timer);
    field.value = scale.low.plus(scale.step.times(new Exact(BigInt(slider.value)))).toDecimal();
    take();
    changed();
  }

  field.addEventListener("input", () => {
    clearTimeout(timer);
    if (now.kind !== "typing") {
      show({ kind: "typing" });
      changed();
    }
    timer = setTimeout(() => {
      take();
      changed();
    }, ASKING_PAUSE);
  });
  field.addEventListener("change", () => {
    take();
    changed();
  });
  slider.addEventListener("input", onSlide);
  // A slider that is not set has no place yet: touching it where it lies, or its Home key, sets it there.
  slider.addEventListener("click", () => {
    if (now.kind !== "given") onSlide();
  });
  slider.addEventListener("keyup", ({ key }) => {
    if (now.kind !== "given" && /^(?:Arrow|Home|End|Page)/.test(key)) onSlide();
  });

  function clear() {
    clearTimeout(timer);
    for (const { button } of ways) button.checked = false;
    field.value = "";
    lay();
    show({ kind: "empty" });
  }

  function fill(givenName, text) {
    for (const { button } of ways) button.checked = button.value === (givenName === factor.id ? "value" : "reading");
    lay();
    if (!scale || name() !== givenName) return problem(givenName, text);
    field.value = askingBare(text, factor, frame);
    take();
    return now.kind === "wrong" ? now.message : "";
  }

  const warn = (text) => {
    if (now.kind === "given") error.textContent = text;
  };
  const focus = () => (ways.length && !way() ? ways[0].button : field).focus();
  clear();
  return { id: factor.id, label: factor.label, element, state: () => now, clear, fill, focus, warn };
}

/** What was typed with its unit: a number alone has the factor's; one decimal comma is taken as the point. */
function askingText(typed, factor) {
  const text = typed.trim();
  if (!text) return "";
  const pointed = /^[+-]?[0-9]*,[0-9]+(?![0-9,])/.test(text) && !ASKING_THOUSANDS.test(text) ? text.replace(",", ".") : text;
  return /^[+-]?[0-9.,]+$/.test(pointed) ? `${pointed} ${factor.unit}` : pointed;
}

/** The number alone where it is told in the factor's unit; any other text as it is. */
function askingBare(text, factor, frame) {
  try {
    const value = parseQuantity(text, factor.unit, frame.units);
    return text.trim().endsWith(factor.unit) ? value.toDecimal() : text;
  } catch (error) {
    if (error instanceof NotAQuantity) return text;
    throw error;
  }
}

function askingCapital(text) {
  return text[0].toUpperCase() + text.slice(1);
}
