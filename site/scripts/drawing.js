// What the figures are drawn with: exact tenths, wrapped texts, hatches, and the frame with its text alternative.
//
// Every place is a whole number of tenths of a unit. Text is measured with the font's own advance widths, which the page
// carries in thousandths of an em; what they lack is taken as wide. Colours are presentation attributes, which the style
// sheet `figures.css` replaces by class in dark and forced colours.

const DRAWING_INK = "#16202a";
const DRAWING_DEEP = "#0b4650";
const DRAWING_PAPER = "#ffffff";
const DRAWING_PALE = "#d7e6e3";
const DRAWING_SAND = "#f0dfb8";
const DRAWING_ENAMEL = "#f8f9f7";
const DRAWING_PULP = "#d9a79a";
const DRAWING_FILLING = "#c3ccd0";
const DRAWING_MIDDLE = "#4f8580";
const DRAWING_GOLD = "#c2934a";
const DRAWING_SIZE = 14;
const DRAWING_WIDEST = 1320;

const DRAWING_ENTITIES = { "&": "&amp;", "<": "&lt;", ">": "&gt;", '"': "&quot;", "'": "&#x27;" };

/** A text as it stands in SVG. */
function drawingEscape(text) {
  return text.replace(/[&<>"']/g, (char) => DRAWING_ENTITIES[char]);
}

/** The nearest whole number to an exact one, a half upwards. */
function drawingHalfUp(value) {
  return Number(value.plus(new Exact(1n, 2n)).floor());
}

/** A number of tenths as the decimal that SVG wants: `125` is `12.5`. */
function drawingTenths(value) {
  const size = Math.abs(value);
  const rest = size % 10;
  return `${value < 0 ? "-" : ""}${(size - rest) / 10}${rest ? `.${rest}` : ""}`;
}

/** A place as path data has it. */
function drawingPlace(x, y) {
  return `${drawingTenths(x)} ${drawingTenths(y)}`;
}

/** The width of a text in tenths of a unit, rounded down, never less than it will be drawn but for that. */
function drawingWidth(text, bold) {
  return Math.floor((drawingMeasure(text, bold) * DRAWING_SIZE) / 100);
}

function drawingMeasure(text, bold) {
  const { chars, regular, bold: heavy } = SAY.widths;
  let total = 0;
  for (const char of text) {
    const place = chars.indexOf(char);
    total += place < 0 ? DRAWING_WIDEST : (bold ? heavy : regular)[place];
  }
  return total;
}

/** The lines of a text in a column of a width in tenths; a number stays with the word after it, a word too wide is cut. */
function drawingWrap(text, bold, width) {
  const most = Math.floor((width * 100) / DRAWING_SIZE);
  const lines = [];
  let line = "";
  const fits = (chunk) => drawingMeasure(chunk, bold) <= most;
  // What is kept together is taken apart where it is too wide: first two numbers, then a number and its word.
  const parts = drawingTied(text).flatMap((chunk) => (fits(chunk) ? [chunk] : drawingTwo(chunk)));
  for (const word of parts.flatMap((part) => (fits(part) ? [part] : part.split(" ")))) {
    const joined = line ? `${line} ${word}` : word;
    if (fits(joined)) {
      line = joined;
      continue;
    }
    if (line) lines.push(line);
    line = "";
    for (const char of word) {
      if (line && !fits(line + char)) {
        lines.push(line);
        line = "";
      }
      line += char;
    }
  }
  return line ? [...lines, line] : lines;
}

function drawingTied(text) {
  const found = [];
  let tie = false;
  for (const word of text.split(/[ \t\r\n]+/).filter(Boolean)) {
    if (tie) found[found.length - 1] += ` ${word}`;
    else found.push(word);
    tie = /^[0-9][0-9.]*(?:,[0-9]+)?$/.test(word) || (tie && word === say("to"));
  }
  return found;
}

/** Two numbers with their word between them in two parts, the word with the first. */
function drawingTwo(text) {
  const between = ` ${say("to")} `;
  return text.split(between).map((part, n, all) => (n + 1 < all.length ? part + between.trimEnd() : part));
}

/** One line of text with its left end (or what `anchor` says) at a place; `light` is for text on a dark ground. */
function drawingText(x, y, text, { bold = false, light = false, anchor = "" } = {}) {
  const [name, colour] = light ? ["fig-paper", DRAWING_PAPER] : ["fig-ink", DRAWING_INK];
  const more = (bold ? ' font-weight="700"' : "") + (anchor ? ` text-anchor="${anchor}"` : "");
  const place = `x="${drawingTenths(x)}" y="${drawingTenths(y)}"`;
  return `<text class="${name}" ${place} font-size="${DRAWING_SIZE}"${more} fill="${colour}">${drawingEscape(text)}</text>`;
}

/** A line along path data; `light` is in the colour of the paper. */
function drawingStroke(data, wide, light = false) {
  const [name, colour] = light ? ["fig-line-paper", DRAWING_PAPER] : ["fig-line", DRAWING_INK];
  return `<path class="${name}" d="${data}" fill="none" stroke="${colour}" stroke-width="${wide}" stroke-linejoin="round"/>`;
}

/** A line with a rim of paper, to be seen on hatches. */
function drawingHaloed(data, wide, thin) {
  return drawingStroke(data, wide, true) + drawingStroke(data, thin);
}

/** An open line with rounded corners: for every corner where the curve starts, the corner, where it ends. */
function drawingRounded(points, radius) {
  const kept = points.filter(([x, y], n) => n === 0 || x !== points[n - 1][0] || y !== points[n - 1][1]);
  return kept.map((corner, n) => {
    if (n === 0 || n === kept.length - 1) return [corner, corner, corner];
    return [drawingTowards(corner, kept[n - 1], radius), corner, drawingTowards(corner, kept[n + 1], radius)];
  });
}

function drawingTowards(corner, other, radius) {
  const [wide, high] = [other[0] - corner[0], other[1] - corner[1]];
  const most = Math.max(Math.abs(wide), Math.abs(high));
  const [part, whole] = most <= 2 * radius ? [1, 2] : [radius, most];
  return [corner[0] + drawingOver(wide * part, whole), corner[1] + drawingOver(high * part, whole)];
}

/** One whole number over another to the nearest whole number, a half upwards. */
function drawingOver(value, whole) {
  return Math.floor((2 * value + whole) / (2 * whole));
}

/** Path data along rounded corners, without the first command letter. */
function drawingCurve(corners, backwards = false) {
  const ordered = backwards ? corners.map(([start, corner, end]) => [end, corner, start]).reverse() : corners;
  const place = ([x, y]) => drawingPlace(x, y);
  let data = place(ordered[0][0]);
  for (const [start, corner, end] of ordered.slice(1)) {
    data += `L${place(start)}`;
    if (start[0] !== end[0] || start[1] !== end[1]) data += `Q${place(corner)} ${place(end)}`;
  }
  return data;
}

/** The dark square with a layer's place in the placing order; x and y are its top left corner. */
function drawingNumber(x, y, number) {
  const words = String(number);
  const wide = Math.max(170, 60 + drawingWidth(words, true));
  const square = `M${drawingTenths(x)} ${drawingTenths(y)}h${drawingTenths(wide)}v17h-${drawingTenths(wide)}z`;
  const text = drawingText(x + Math.floor(wide / 2), y + 133, words, { bold: true, light: true, anchor: "middle" });
  return `<path class="fig-ink" d="${square}" fill="${DRAWING_INK}"/>${text}`;
}

// Each layer decision has its own hatch: ground (class, colour), then lines (class, colour, width), how they run, how far
// they are apart, and their dashes, of which every other line begins with a gap.
const DRAWING_HATCHES = [
  ["fig-deep", DRAWING_DEEP, "fig-line-paper", DRAWING_PAPER, 2.4, "level", 27, "0.1 5.3"],
  ["fig-pale", DRAWING_PALE, "fig-line-deep", DRAWING_DEEP, 1.4, "rising", 50, ""],
  ["fig-gold", DRAWING_GOLD, "fig-line", DRAWING_INK, 1.3, "upright", 40, ""],
  ["fig-paper", DRAWING_PAPER, "fig-line-deep", DRAWING_DEEP, 1.1, "crossed", 60, ""],
  ["fig-middle", DRAWING_MIDDLE, "fig-line-paper", DRAWING_PAPER, 1.5, "level", 50, ""],
  ["fig-paper", DRAWING_PAPER, "fig-line-deep", DRAWING_DEEP, 4, "level", 40, "4 4"],
  ["fig-sand", DRAWING_SAND, "fig-line", DRAWING_INK, 1.2, "level", 40, "5 4"],
  ["fig-deep", DRAWING_DEEP, "fig-line-paper", DRAWING_PAPER, 1.6, "rising", 60, ""],
];

/** An area filled with a hatch, whose lines are cut off at its edge. `name` is for the edge, the box holds the area. */
function drawingHatched(number, name, data, [left, top, right, foot]) {
  const [ground, colour, line, ink, wide, way, step, dashes] = DRAWING_HATCHES[number % DRAWING_HATCHES.length];
  const [runs, reach] = [[], foot - top];
  const from = (start) => Math.floor(start / step);
  if (way === "level")
    for (let n = from(top); n * step <= foot; n += 1) {
      const back = dashes && n % 2 ? step : 0;
      runs.push(`M${drawingPlace(from(left) * step - back, n * step)}H${drawingTenths(right)}`);
    }
  else if (way === "upright")
    for (let x = (left + right) / 2 - Math.ceil((right - left) / 2 / step) * step; x <= right; x += step)
      runs.push(`M${drawingPlace(x, top)}v${drawingTenths(reach)}`);
  else
    for (let n = from(left - reach); n * step <= right + reach; n += 1) {
      const x = n * step + (top % step);
      runs.push(`M${drawingPlace(x, foot)}l${drawingPlace(reach, -reach)}`);
      if (way === "crossed") runs.push(`M${drawingPlace(x, top)}l${drawingPlace(reach, reach)}`);
    }
  const round = dashes.startsWith("0.1") ? ' stroke-linecap="round"' : "";
  const more = dashes ? ` stroke-dasharray="${dashes}"${round}` : "";
  return (
    `<clipPath id="${name}"><path d="${data}"/></clipPath><path class="${ground}" d="${data}" fill="${colour}"/>` +
    `<path class="${line}" d="${runs.join("")}" clip-path="url(#${name})" fill="none" stroke="${ink}" ` +
    `stroke-width="${wide}"${more}/>`
  );
}

/** A whole figure: its title and text alternative first, then paper, then what is drawn. Sizes in tenths. */
function drawingFrame(kind, uid, width, height, { title, description }, inside) {
  const [wide, high] = [drawingTenths(width), drawingTenths(height)];
  return (
    `<svg xmlns="http://www.w3.org/2000/svg" class="figure ${kind}" role="img" viewBox="0 0 ${wide} ${high}" ` +
    `width="${wide}" height="${high}" aria-labelledby="${kind}-title-${uid} ${kind}-desc-${uid}" ` +
    `font-family="'Source Sans Pro', sans-serif">` +
    `<title id="${kind}-title-${uid}">${drawingEscape(title)}</title>` +
    `<desc id="${kind}-desc-${uid}">${drawingEscape(description)}</desc>` +
    `<path class="fig-paper" d="M0 0H${wide}V${high}H0Z" fill="${DRAWING_PAPER}"/>${inside}</svg>\n`
  );
}
