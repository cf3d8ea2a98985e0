// The questions of the look-up, one for each factor. Nothing is chosen beforehand, and nothing is kept.

/** So many values are buttons to choose from; more are a list that unfolds. */
const ASKING_MOST_BUTTONS = 9;

/**
 * A question: `id`, `label`, how it `asks`, `element`, and
 * `state()`: `{kind}`, one of `empty`, `typing`, `wrong` (with `message`), `given` (with `name` and `text` for `answer`);
 * `clear()`; `fill(name, text)`, which returns what is wrong with the text, or nothing; `focus()`; `warn(text)`, which
 * says beside the question what is strange about an answer that can be taken.
 * `changed` is called after every change.
 */
function askingMake(frame, compiled, factor, changed) {
  const problem = (name, text) => {
    try {
      evaluatePut(compiled, { [name]: text });
      return "";
    } catch (error) {
      if (error.name !== "BadCase") throw error;
      return (error.kind === "unit" && entryUnit(frame, factor, text)) || error.message;
    }
  };
  const isRead = factorUnread(compiled.factors.get(factor.id)) === "";
  const isQuantity = factor.kind === "quantity";
  const question = isQuantity ? entryMake(frame, factor, isRead, problem, changed) : askingChoice(frame, factor, problem, changed);
  question.element.append(askingBack(question, changed));
  return { ...question, asks: wordsAsks(frame, factor.id) };
}

/** The button that takes an answer back; the question is then as it was before. */
function askingBack(question, changed) {
  const label = say("take-back-of", { question: question.label });
  const back = nodesMake("button", { type: "button", class: "ask-back", "aria-label": label }, say("take-back"));
  back.addEventListener("click", () => {
    question.clear();
    question.focus(); // the button is gone
    changed();
  });
  return back;
}

/** The frame of a question: how it is put, what a stop question says of it, and the control. */
function askingFieldset(frame, factor, kind, ...children) {
  const { asks, notes } = frame.words.factors[factor.id];
  const legend = nodesMake("legend", {}, nodesTied(asks), notes.map((text) => nodesMake("span", { class: "ask-note" }, nodesTied(text))));
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

function askingChoice(frame, factor, problem, changed) {
  const isYesNo = factor.kind === "yes-no";
  const values = isYesNo ? ["yes", "no"].map((id) => [id, say(`choose-${id}`)]) : factor.values.map(({ id, label }) => [id, label]);
  const known = values.map(([id]) => id);
  const control =
    values.length > ASKING_MOST_BUTTONS ? askingList(factor, values, update) : askingRow(factor, values, update);
  const element = askingFieldset(frame, factor, isYesNo ? "yes-no" : "choice", control.element);
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
  const options = [["", say("choose")], ...values].map(([value, label]) => nodesMake("option", { value }, label));
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
