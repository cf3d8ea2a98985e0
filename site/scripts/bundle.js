// A rule bundle made ready for questions: its tables, each row of which is a box of cells, and what they speak of.

/** Boxes of cells, each with an owner, laid out so that the owners of those that hold a case are found at once. */
class BundleIndex {
  /**
   * @param {number[]} counts how many cells each factor has
   * @param {{cells: (Set<number> | null)[], owner: object}[]} boxes a set of cells a factor; null is every cell
   */
  constructor(counts, boxes) {
    this.counts = counts;
    this.boxes = boxes.map((box) => box.cells);
    this.owners = boxes.map((box) => box.owner);
    this.met = counts.map(() => new WeakMap());
    this.owned = new Map(this.owners.map((owner) => [owner, []]));
    for (const { cells, owner } of boxes) this.owned.get(owner).push(cells);
    this.words = Math.ceil(boxes.length / 32);
    this.holding = counts.map((count, factor) =>
      Array.from({ length: count }, (_, cell) => {
        const bits = new Int32Array(this.words);
        boxes.forEach((box, number) => {
          if (box.cells[factor] === null || box.cells[factor].has(cell)) bits[number >> 5] |= 1 << (number & 31);
        });
        return bits;
      }),
    );
  }

  /** The owners, each once, of all boxes that hold a case of one cell a factor, in the order of the boxes. */
  at(cells) {
    const found = new Set();
    const rows = cells.map((cell, factor) => this.holding[factor][cell]);
    for (let word = 0; word < this.words; word += 1) {
      let bits = rows.length ? -1 : 0;
      for (let factor = 0; factor < rows.length && bits; factor += 1) bits &= rows[factor][word];
      while (bits) {
        found.add(this.owners[word * 32 + 31 - Math.clz32(bits & -bits)]);
        bits &= bits - 1;
      }
    }
    return [...found];
  }

  /** Which boxes hold some of a set of cells of a factor (null is every cell), as bits. */
  on(factor, cells) {
    if (cells === null) return new Int32Array(this.words).fill(-1);
    if (!this.met[factor].has(cells)) {
      const found = new Int32Array(this.words);
      for (const cell of cells) this.holding[factor][cell].forEach((bits, word) => (found[word] |= bits));
      this.met[factor].set(cells, found);
    }
    return this.met[factor].get(cells);
  }

  /** Which boxes hold some case of a box, as bits. */
  meeting(box) {
    const found = this.bits(this.boxes.keys());
    box.forEach((cells, factor) => {
      if (cells !== null) this.on(factor, cells).forEach((bits, word) => (found[word] &= bits));
    });
    return found;
  }

  /** Numbers of boxes as bits. */
  bits(numbers) {
    const found = new Int32Array(this.words);
    for (const number of numbers) found[number >> 5] |= 1 << (number & 31);
    return found;
  }

  /** The boxes of an owner. */
  of(owner) {
    return this.owned.get(owner) ?? [];
  }
}

/** The numbers that bits stand for, from the lowest. */
function bundleNumbers(bits) {
  const found = [];
  bits.forEach((own, word) => {
    for (let rest = own; rest; rest &= rest - 1) found.push(word * 32 + 31 - Math.clz32(rest & -rest));
  });
  return found;
}

/**
 * A bundle made ready for questions. Throws Error where the bundle is none, or is of a version that is not known.
 *
 * The result has the `bundle` itself, maps of `units` (by code), `factors` (see `factorOf`), `decisions` and `agents`
 * (by id), the ids of `places`, those of the factors that stop questions ask for (`screening`), and indices of all that
 * depends on the case.
 *
 * @param {object} bundle what `bundle.json` holds
 */
function readBundle(bundle) {
  if (bundle?.format !== "liningbook-bundle") throw new Error("This is not a rule bundle of Liningbook.");
  if (bundle.version !== 1) throw new Error(`This page cannot read version ${bundle.version} of the rule bundle.`);
  if (!bundle.units) throw new Error("This rule bundle is older than this page: build it again from its protocol.");
  const units = quantityUnits(bundle.units);
  const factors = bundle.factors.map((factor) => factorOf(factor, units));
  const counts = factors.map((factor) => factor.count);
  const known = new Map(factors.map(({ id }) => [id, new Map()]));
  const cellsOf = (factor, box) => {
    const own = known.get(factor.id);
    const key = JSON.stringify(box[factor.id]);
    if (!own.has(key)) own.set(key, factorCells(factor, box));
    return own.get(key);
  };
  const index = (entries, owner = (entry) => entry) => {
    const boxes = entries.flatMap((entry, number) => {
      const own = owner(entry, number);
      return entry.when.map((box) => ({ cells: factors.map((factor) => cellsOf(factor, box)), owner: own }));
    });
    return new BundleIndex(counts, boxes);
  };
  const numbered = (entry, number) => ({ entry, number });
  const rows = bundle.tables.flatMap(({ decision, rows: own }) =>
    own.map(({ when, ...outcome }) => ({ decision, when: [when], outcome, meaning: "" })),
  );
  const byId = (list) => new Map(list.map((entry) => [entry.id, entry]));
  return {
    bundle,
    units,
    factors: byId(factors),
    decisions: byId(bundle.decisions),
    agents: byId(bundle.agents),
    places: (bundle.places ?? []).map((place) => place.id),
    screening: (bundle.protocol?.screens ?? [])
      .flatMap(({ when }) => when)
      .flatMap((box) => factors.map(({ id }) => id).filter((id) => Object.hasOwn(box, id))),
    rows: index(rows),
    excluded: index(bundle.excluded ?? []),
    rules: index(bundle.rules),
    sources: index(bundle.sources ?? [], numbered),
    barriers: index(bundle.barriers ?? [], numbered),
  };
}

/** The place that a layer covers: the one that its answer names, else its agent's own, else the largest. */
function bundlePlace(compiled, layer) {
  return layer.place ?? compiled.agents.get(layer.agent).place ?? compiled.places.at(-1);
}

/** A quantity of the bundle as a number of the first unit of its kind. */
function bundleBase(compiled, text) {
  const { value, unit } = quantityWritten(text, compiled.units);
  return value.times(unit.size);
}
