// The question for a quantity: the number, with its unit if need be, a slider, and whether it is a value or a reading.

/** Milliseconds without a key after which a number counts as typed. */
const ENTRY_PAUSE = 500;
const ENTRY_THOUSANDS = /^[+-]?[1-9][0-9]{0,2}(?:,[0-9]{3})+$/;

/** `isRead` says whether a reading can be given in place of the value. */
function entryMake(frame, factor, isRead, problem, changed) {
  const told = frame.words.factors[factor.id];
  const unit = frame.units.get(factor.unit);
  const id = `ask-${factor.id}`;
  const label = nodesMake("label", { class: "hidden", for: `${id}-number` });
  const field = nodesMake("input", {
    id: `${id}-number`, type: "text", inputmode: "decimal", autocomplete: "off", spellcheck: "false", maxlength: "60",
    "aria-describedby": `${id}-limits ${id}-error`,
  });
  const slider = nodesMake("input", { type: "range", min: "0", step: "1", autocomplete: "off" });
  const shownUnit = nodesMake("span", { class: "ask-unit" }, told.unit);
  const limits = nodesMake("p", { class: "ask-limits", id: `${id}-limits` });
  const error = nodesMake("p", { class: "ask-error", id: `${id}-error` });
  const ways = isRead
    ? askingButtons(`${id}-way`, ["value", "reading"].map((way) => [way, told.ways[way]]), onWay)
    : [];
  const how = ways.length
    ? nodesMake(
        "div", { class: "ask-way picks", role: "radiogroup", "aria-label": say("how-measured", { factor: factor.label }) },
        ways.map((one) => one.element),
      )
    : "";
  const number = nodesMake(
    "div", { class: "ask-number" },
    nodesMake("div", { class: "ask-line" }, nodesMake("div", { class: "ask-field" }, label, field, shownUnit), how),
    slider, limits, error,
  );
  const about = isRead
    ? nodesMake("details", { class: "ask-about" }, nodesMake("summary", {}, told.reading.how), nodesMake("p", {}, told.reading.taken))
    : null;
  const element = askingFieldset(frame, factor, "quantity", number, about);
  let scale = null;
  let timer = 0;
  let laid = false;
  let seen = "";
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
      slider.setAttribute("aria-valuetext", say("not-set"));
    }
  }

  /** Lays out number and slider for the way that was chosen; without one the number alone can be filled in. */
  function lay() {
    const chosen = way();
    slider.hidden = !chosen;
    if (about) about.hidden = chosen !== "reading";
    const words = told[chosen || "value"];
    label.textContent = words.number;
    field.setAttribute("aria-label", say("labelled", { label: factor.label, text: words.number }));
    limits.textContent = told.values;
    limits.hidden = chosen === "reading";
    if (!chosen) return;
    scale = wordsScale(frame, factor, chosen === "reading");
    slider.max = String(scale.count);
    slider.setAttribute("aria-label", say("labelled", { label: factor.label, text: words.slider }));
  }

  /** A number that was written before it was said how it was found is kept; from one way to the other it is not. */
  function onWay() {
    clearTimeout(timer);
    if (laid) field.value = "";
    laid = true;
    lay();
    take();
    changed();
  }

  /** Takes what stands in the field. */
  function take() {
    clearTimeout(timer);
    seen = field.value;
    const text = entryText(field.value, factor);
    if (!text) {
      show({ kind: "empty" });
      return;
    }
    const message = problem(name(), text);
    if (message || !way()) {
      show({ kind: "wrong", message: message || say("say-how") });
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
    field.value = sayDecimal(scale.low.plus(scale.step.times(new Exact(BigInt(slider.value)))).toDecimal());
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
    }, ENTRY_PAUSE);
  });
  field.addEventListener("change", () => {
    if (now.kind !== "typing" && field.value === seen) return;
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
    laid = false;
    lay();
    show({ kind: "empty" });
  }

  function fill(givenName, text) {
    for (const { button } of ways) button.checked = button.value === (givenName === factor.id ? "value" : "reading");
    laid = way() !== "";
    lay();
    if (!scale || name() !== givenName) return problem(givenName, text);
    field.value = entryBare(text, factor, frame);
    take();
    return now.kind === "wrong" ? now.message : "";
  }

  const warn = (text) => {
    if (now.kind === "given") error.textContent = text;
  };
  const focus = () => field.focus();
  clear();
  return { id: factor.id, label: factor.label, element, state: () => now, clear, fill, focus, warn };
}

/** What to write in place of something that is no number in a unit of the factor's kind; nothing where it is one. */
function entryUnit(frame, factor, text) {
  const [, number, code] = /^([+-]?[0-9.,]*)\s*(.*)$/s.exec(text);
  const { dimension } = frame.units.get(factor.unit);
  if (/[0-9]/.test(number) && frame.units.get(code)?.dimension === dimension) return "";
  const { low, step } = wordsScale(frame, factor, false);
  const example = low.plus(step.times(new Exact(4n))).toDecimal();
  return say("write-in-unit", { unit: frame.words.factors[factor.id].write, number: sayDecimal(example) });
}

/** What was typed, as the bundle writes it: a number alone has the factor's unit, one decimal comma is the point. */
function entryText(typed, factor) {
  const text = sayTurned(typed.trim());
  if (!text) return "";
  const [number] = /^[+-]?[0-9.,]*/.exec(text);
  const isDecimal = /^[+-]?[0-9]*,[0-9]+(?![0-9,.])/.test(text) && !ENTRY_THOUSANDS.test(text);
  const pointed = isDecimal ? text.replace(",", ".") : text;
  return number === text ? `${pointed} ${factor.unit}` : pointed;
}

/** A quantity as it is to stand in the field: the number alone where it is told in the factor's unit. */
function entryBare(text, factor, frame) {
  try {
    const value = parseQuantity(text, factor.unit, frame.units);
    return text.trim().endsWith(factor.unit) ? sayDecimal(value.toDecimal()) : sayTurned(text);
  } catch (error) {
    if (error instanceof NotAQuantity) return sayTurned(text);
    throw error;
  }
}
