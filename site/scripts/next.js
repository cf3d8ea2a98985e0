// What to ask next of a case of which some factors are not known, and which can change nothing any more. Boxes and rows
// are those of partial.js.

/** Which factor to ask `next`, and which of the missing are `irrelevant`: see `answer`. */
function nextAsked(compiled, box, look, missing) {
  if (look.inScope === false) return { next: null, irrelevant: missing };
  const ids = [...compiled.factors.keys()];
  const matter = nextMatters(compiled, box, look, missing.map((id) => ids.indexOf(id)));
  const isAsked = (id) => matter.has(ids.indexOf(id)) || compiled.factors.get(id).alwaysAsk;
  const screening = compiled.screening.filter((id) => missing.includes(id) && isAsked(id));
  const next = screening[0] ?? nextBest(compiled, box, look, matter) ?? missing.find(isAsked) ?? null;
  return { next, irrelevant: missing.filter((id) => !matter.has(ids.indexOf(id))) };
}

/**
 * The missing factors that alone can lead from one outcome of an open decision to another, or in or out of scope: those
 * on which two boxes of different outcome lie apart that meet in every other factor.
 */
function nextMatters(compiled, box, { inScope, open, out }, missing) {
  const { rows } = compiled;
  const found = new Set();
  const look = (own, targets) => {
    const met = missing.map((factor) => rows.on(factor, own[factor]));
    targets.forEach((bits, word) => {
      if (!bits) return;
      const before = [bits];
      for (const on of met) before.push(before.at(-1) & on[word]);
      let after = -1;
      for (let n = missing.length - 1; n >= 0; n -= 1) {
        if (before[n] & after) found.add(missing[n]);
        after &= met[n][word];
      }
    });
  };
  const away = inScope === "open" ? out.map((number) => compiled.excluded.boxes[number]) : [];
  const inside = rows.bits(bundleNumbers(rows.meeting(box)));
  for (const own of away) look(own, inside);
  for (const groups of open.values())
    for (const group of groups) {
      const others = rows.bits(groups.filter((other) => other !== group).flat());
      for (const number of group) if (found.size < missing.length) look(rows.boxes[number], others);
    }
  return found;
}

/** The factor of those that matter whose answer leaves the fewest completions undecided, and of several the first. */
function nextBest(compiled, box, { inScope, open }, matter) {
  const [all] = partialGroups(compiled, box).values();
  let [best, least] = [null, null];
  for (const factor of [...matter].sort((one, other) => one - other)) {
    const weigh = (numbers) => nextWeights(compiled, box, factor, numbers);
    const undecided = [...open.values()].map((groups) => groups.map(weigh));
    if (inScope === "open") {
      const inside = weigh([...all.values()].flat());
      undecided.push([inside, weigh([null]).map((count, cell) => count - inside[cell])]);
    }
    const left = undecided.map(nextLeft).reduce((one, other) => one + other, 0n);
    if (least === null || left < least) [best, least] = [[...compiled.factors.keys()][factor], left];
  }
  return best;
}

/** How many completions lie in cells that hold several outcomes; of each outcome, the number of them by cell. */
function nextLeft(outcomes) {
  return outcomes[0]
    .map((_, cell) => outcomes.map((weights) => weights[cell]).filter((weight) => weight))
    .filter((counts) => counts.length > 1)
    .reduce((sum, counts) => counts.reduce((one, other) => one + other, sum), 0n);
}

/** How many completions lie in rows with each cell of a factor; a row that is null holds all. */
function nextWeights(compiled, box, factor, numbers) {
  const found = Array.from({ length: compiled.rows.counts[factor] }, () => 0n);
  for (const number of numbers) {
    const own = number === null ? null : compiled.rows.boxes[number];
    const share = nextCount(compiled, box, [number], factor);
    for (const cell of own?.[factor] ?? found.keys()) found[cell] += share;
  }
  return found;
}

/** How many completions lie in rows, all cells of the factor `but` counted as one. */
function nextCount(compiled, box, numbers, but = -1) {
  const { counts, boxes } = compiled.rows;
  const sizes = (number) =>
    box.map((cells, factor) => (cells || factor === but ? 1 : (number === null ? null : boxes[number][factor])?.size ?? counts[factor]));
  return numbers.reduce((sum, number) => sum + sizes(number).reduce((product, size) => product * BigInt(size), 1n), 0n);
}
