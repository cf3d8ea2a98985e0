// Where a reading, its correction and its uncertainty lie against the thresholds. Terms: JCGM 106:2012.
//
// What was read, the corrected value with its expanded uncertainty, and the value that counts each have a line of words
// and a track under it, all to the same scale, so that no words can meet. Places are whole numbers of tenths of a unit.

const READING_WIDTH = 3200;
const [READING_LEFT, READING_TEXT_WIDTH, READING_LINE, READING_TRACK] = [100, 3000, 170, 240];
const READING_MOST_LABEL = 1300;

/**
 * The drawing for every factor of a reply that was read off, one under the other; the empty text where none was.
 *
 * @param {object} compiled from `readBundle`
 * @param {object} frame from `wordsFrame`
 * @param {object} reply from `answer`
 * @param {string} uid ends every identifier in the drawing
 */
function readingChart(compiled, frame, reply, uid) {
  return readingDrawn(readingReads(compiled, frame, reply), uid);
}

function readingDrawn(reads, uid) {
  if (!reads.length) return "";
  const parts = [];
  let y = 60;
  for (const read of reads) {
    const [drawn, end] = readingRows(read, y);
    parts.push(drawn);
    y = end + 160;
  }
  const said = { title: say("reading-title"), description: reads.map(readingInWords).join(" ") };
  return drawingFrame("reading", uid, READING_WIDTH, y - 100, said, parts.join(""));
}

function readingReads(compiled, frame, reply) {
  const names = Object.keys(reply.case).filter((name) => reply.readings && Object.hasOwn(reply.readings, name));
  const given = {};
  for (const [name, text] of Object.entries(reply.case)) {
    if (names.includes(name)) given[`${name}.reading`] = reply.readings[name].reading;
    else given[name] = text;
  }
  const { taken } = evaluatePut(compiled, given);
  return names.map((name) => readingOne(compiled.factors.get(name), frame, reply, taken.get(name)));
}

function readingOne(factor, frame, reply, { reading, corrected, value, band, stopsShort }) {
  const unit = frame.units.get(factor.unit);
  const told = frame.factors.get(factor.id);
  const said = (number) => wordsNumber(number, unit);
  const taken = reply.readings[factor.id];
  const mapping = factorNotation(factor, band);
  const { low, high } = factor;
  const nearer = value.minus(low).compare(high.minus(value)) < 0 ? low : high;
  const points = factor.cells.filter((cell) => cell.lowIn).map((cell) => cell.low);
  const inside = points.filter((point) => point.compare(low) !== 0 && point.compare(high) !== 0);
  const { method } = factor.reading;
  return {
    label: factor.label,
    words: {
      reading: method ? say("with-note", { text: said(reading), note: method }) : said(reading),
      corrected: wordsQuantity(frame, readingToPlace(frame, told, taken, taken.corrected)),
      band: readingBand(frame, told, taken, mapping),
      value: wordsCounted(frame, told, reply),
    },
    reading,
    corrected,
    low: band.low,
    high: band.high,
    value: stopsShort ? nearer : value,
    thresholds: inside.map((point) => [point, said(point)]),
    limits: [low, high],
  };
}

function readingInWords(read) {
  const thresholds = read.thresholds.map(([, text]) => text).join(", ");
  const said = say("reading-said", { factor: read.label, ...read.words });
  return `${said} ${thresholds ? say("thresholds", { thresholds }) : say("no-thresholds")}`;
}

/**
 * A value of a factor that was read off, as it is said: to the decimal place of the uncertainty, on the cautious side
 * unless told `isUp` or not. It gets more places where it would else be said to be at, or beyond, a threshold that it does
 * not reach; a limit is none (JCGM 100:2008, 7.2.6: no more places than the uncertainty has). As `Taken.to_place`.
 */
function readingToPlace(frame, factor, taken, text, isUp = factor.reading.cautious === "above") {
  const { uncertainty } = factor.reading;
  const read = (quantity) => quantityWritten(quantity, frame.units).value;
  const value = read(text);
  if (!read(uncertainty).numerator || (factor.step && text === taken.treated_as)) return text;
  const points = factor.thresholds.slice(1, -1).map(read);
  for (let digits = (/\.(\d+)/.exec(uncertainty)?.[1] ?? "").length; ; digits += 1) {
    const power = new Exact(10n ** BigInt(digits));
    const scaled = value.times(power);
    const said = new Exact(isUp ? scaled.ceiling() : scaled.floor()).over(power);
    const [low, high] = said.compare(value) < 0 ? [said, value] : [value, said];
    const isPassed = points.some((point) => low.compare(point) <= 0 && point.compare(high) <= 0);
    if (!said.compare(value) || !isPassed) return `${said.toDecimal()} ${factor.unit}`;
  }
}

/** The values within the uncertainty of a reading as they are said: rounded outward, short of the limits. */
function readingBand(frame, factor, taken, mapping) {
  const read = (text) => quantityWritten(text, frame.units).value;
  const isBelow = (key) => ["at_least", "above", "exactly"].includes(key);
  const ends = "exactly" in mapping ? { at_least: mapping.exactly, at_most: mapping.exactly } : mapping;
  const placed = Object.entries(ends).map(([key, text]) => {
    const [said, limit] = [readingToPlace(frame, factor, taken, text, !isBelow(key)), isBelow(key) ? factor.at_least : factor.at_most];
    const isAt = isBelow(key) ? read(said).compare(read(limit)) <= 0 : read(said).compare(read(limit)) >= 0;
    return isAt ? [isBelow(key) ? "above" : "below", limit] : [key, said];
  });
  return wordsRange(frame, factor, Object.fromEntries(placed));
}

/** The stretch that is drawn: everything there is to show, but no further beyond a limit than a quarter. */
function readingScale(read) {
  const [first, last] = read.limits;
  const points = [read.reading, read.corrected, read.low, read.high, read.value, ...read.thresholds.map(([value]) => value)];
  const over = last.minus(first).over(new Exact(4n));
  const low = points.reduce((one, other) => (other.compare(one) < 0 ? other : one));
  const high = points.reduce((one, other) => (other.compare(one) > 0 ? other : one));
  const from = low.compare(first.minus(over)) < 0 ? first.minus(over) : low;
  const to = high.compare(last.plus(over)) > 0 ? last.plus(over) : high;
  return from.compare(to) < 0 ? [from, to] : [first, last];
}

function readingRows(read, top) {
  const [low, high] = readingScale(read);
  const widest = Math.max(0, ...read.thresholds.map(([, words]) => readingWide(readingLabel(words))));
  const right = READING_WIDTH - 80 - widest;
  const room = new Exact(BigInt(right - READING_LEFT));
  const x = (value) => {
    const inside = value.compare(low) < 0 ? low : value.compare(high) > 0 ? high : value;
    return READING_LEFT + drawingHalfUp(inside.minus(low).times(room).over(high.minus(low)));
  };
  const ticks = read.thresholds.map(([value]) => x(value));
  const parts = [];
  let y = top;
  for (const line of drawingWrap(read.label, true, READING_TEXT_WIDTH)) {
    parts.push(drawingText(READING_LEFT, y + 130, line, { bold: true }));
    y += READING_LINE;
  }
  y += 60;
  const marks = [readingReadMark, readingCorrectedMark, readingValueMark];
  const points = [read.reading, read.corrected, read.value];
  points.forEach((point, n) => {
    const isInside = point.compare(low) >= 0 && point.compare(high) <= 0;
    const said = say(["read-line", "corrected-line", "value-line"][n], read.words);
    const line = isInside ? said : say("beyond-scale", { text: said });
    for (const row of drawingWrap(line, false, READING_TEXT_WIDTH)) {
      parts.push(drawingText(READING_LEFT, y + 130, row));
      y += READING_LINE;
    }
    parts.push(readingTrack(y + 110, right, ticks) + marks[n](read, x, y + 110));
    y += READING_TRACK;
  });
  return readingLabelled(parts, read, ticks, y - READING_TRACK + 200);
}

/** The thresholds' words under the tracks: each right of its own line, as high as no line crosses it. */
function readingLabelled(parts, read, ticks, y) {
  const labels = read.thresholds.map(([, words]) => readingLabel(words));
  const tops = ticks.map(() => y);
  const ends = ticks.map(() => y);
  for (let n = ticks.length - 1; n >= 0; n -= 1) {
    const right = ticks[n] + 120 + readingWide(labels[n]);
    tops[n] = Math.max(y, ...ends.filter((_, other) => other > n && ticks[other] < right));
    ends[n] = tops[n] + labels[n].length * READING_LINE;
  }
  ticks.forEach((tick, n) => {
    const line = (row) => tops[n] + 130 + row * READING_LINE;
    const foot = drawingTenths(line(labels[n].length - 1));
    parts.push(drawingStroke(`M${drawingTenths(tick)} ${drawingTenths(y - 10)}V${foot}`, "2"));
    labels[n].forEach((text, row) => parts.push(drawingText(tick + 60, line(row), text, { bold: true })));
  });
  return [parts.join(""), Math.max(y, ...ends)];
}

function readingLabel(words) {
  return drawingWrap(words, true, READING_MOST_LABEL);
}

function readingWide(lines) {
  return Math.max(...lines.map((line) => drawingWidth(line, true)));
}

function readingTrack(y, right, ticks) {
  const data = ticks.map((tick) => `M${drawingTenths(tick)} ${drawingTenths(y - 80)}v16`).join("");
  const line = drawingStroke(`M${drawingTenths(READING_LEFT)} ${drawingTenths(y)}H${drawingTenths(right)}`, "1");
  return line + (data ? drawingStroke(data, "2") : "");
}

function readingReadMark(read, x, y) {
  const place = `cx="${drawingTenths(x(read.reading))}" cy="${drawingTenths(y)}"`;
  return `<circle class="fig-paper fig-line" ${place} r="5" fill="${DRAWING_PAPER}" stroke="${DRAWING_INK}" stroke-width="2"/>`;
}

function readingCorrectedMark(read, x, y) {
  const t = drawingTenths;
  const [start, end] = [t(x(read.low)), t(x(read.high))];
  return (
    `<path class="fig-pale fig-line-deep" d="M${start} ${t(y - 60)}H${end}v12H${start}Z" fill="${DRAWING_PALE}" ` +
    `fill-opacity="0.7" stroke="${DRAWING_DEEP}" stroke-width="1.4" stroke-dasharray="4 2.5"/>` +
    `<circle class="fig-ink" cx="${t(x(read.corrected))}" cy="${t(y)}" r="5" fill="${DRAWING_INK}"/>`
  );
}

function readingValueMark(read, x, y) {
  const t = drawingTenths;
  const [start, end] = [x(read.corrected), x(read.value)];
  const side = start > end ? 10 : -10;
  let arrow = "";
  if (Math.abs(start - end) >= 160) {
    const shaft = `M${t(start)} ${t(y)}H${t(end + 8 * side)}`;
    arrow = drawingStroke(`${shaft}m${t(4 * side)} -4l${t(-4 * side)} 4l${t(4 * side)} 4`, "1.8");
  }
  return (
    `${arrow}<path class="fig-deep fig-line" d="M${t(end - 65)} ${t(y)}l6.5 -6.5l6.5 6.5l-6.5 6.5z" ` +
    `fill="${DRAWING_DEEP}" stroke="${DRAWING_INK}" stroke-width="1"/>`
  );
}
