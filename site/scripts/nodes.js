// Elements of the page from code. Text is always put in as text, so that no author's words are read as markup.

/**
 * An element. `true` and `false` set or leave out an attribute; children are elements or texts, empty ones are left out.
 *
 * @param {string} tag
 * @param {Record<string, string | boolean>} attributes
 */
function nodesMake(tag, attributes = {}, ...children) {
  const made = document.createElement(tag);
  for (const [name, value] of Object.entries(attributes))
    if (value !== false) made.setAttribute(name, value === true ? "" : value);
  made.append(...children.flat().filter((child) => child !== "" && child !== null && child !== undefined));
  return made;
}

/** A message as children of an element: what stands in it between `<b>` and `</b>` is bold; a value may be elements. */
function nodesSaid(key, values = {}) {
  const made = [];
  let into = made;
  for (const part of sayMessage(key, values.count).split(/(<\/?b>|\{\w+\})/)) {
    if (part === "<b>") into = [];
    else if (part === "</b>") {
      made.push(nodesMake("b", {}, into));
      into = made;
    } else {
      const value = part.startsWith("{") ? values[part.slice(1, -1)] : part;
      into.push(...(Array.isArray(value) ? value : [typeof value === "object" ? value : nodesTied(String(value))]));
    }
  }
  return made;
}

/** A text with each number kept on one line with what it counts: blanks after digits do not break. */
function nodesTied(text) {
  return text.replace(/([0-9]) (?=\p{L})/gu, "$1\u00a0");
}

/** A drawing (SVG text) as an element. Throws Error where the text is not one. */
function nodesDrawing(svg) {
  const found = new DOMParser().parseFromString(svg, "text/html").querySelector("svg");
  if (!found) throw new Error("a drawing could not be read");
  return document.importNode(found, true);
}

/** A sign of the page (`stop`, `avoid`, `never`), which the template holds ready. */
function nodesSign(name) {
  return document.getElementById(`look-sign-${name}`).content.cloneNode(true);
}
