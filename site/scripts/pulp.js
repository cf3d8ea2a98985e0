// What brings an irritant to the pulp in a case, and what stops it, by the protocol's own table.

/** Every irritant that is present, what brings it and what stops it, where a layer decision is needed. */
function pulpThreats(compiled, cells, outcomes, order) {
  const isLayer = (decision) => compiled.decisions.get(decision).layer !== undefined;
  if (![...outcomes].some(([decision, row]) => row.outcome.state !== "not-needed" && isLayer(decision))) return [];
  const [sources, barriers] = [compiled.sources.at(cells), compiled.barriers.at(cells)];
  const answers = order.map((layer) => evaluateLayer(outcomes.get(layer)));
  const found = [];
  for (const irritant of compiled.bundle.irritants ?? []) {
    const listing = (entries) =>
      entries.filter(({ entry }) => entry.irritants.includes(irritant.id)).map(({ number }) => number);
    const stops = answers.map((layer) => pulpStops(compiled, layer, irritant));
    const emits = answers.map((layer) => compiled.agents.get(layer.agent).emits?.includes(irritant.id));
    const stoppers = (count) => order.filter((_, place) => place < count && stops[place]);
    const given = order.map((layer, place) => [layer, stoppers(place)]).filter((_, place) => emits[place]);
    const from = listing(sources);
    if (!from.length && !given.length) continue;
    const [dentine, layers] = [listing(barriers), stoppers(order.length)];
    const isStopped = (layers.length > 0 || !from.length) && given.every(([, by]) => by.length > 0);
    found.push({
      irritant: irritant.id,
      live: !dentine.length,
      stopped: dentine.length > 0 || isStopped,
      from_sources: from,
      stopped_by_dentine: dentine,
      stopped_by_layers: layers,
      given_off_by: Object.fromEntries(given),
    });
  }
  return found;
}

/** Whether a layer stops an irritant: it lies where the irritant acts, and is as thick as its agent needs to be. */
function pulpStops(compiled, layer, irritant) {
  const rank = (place) => compiled.places.indexOf(place);
  if (irritant.acts_on !== undefined && rank(bundlePlace(compiled, layer)) < rank(irritant.acts_on)) return false;
  const span = (amount) => exactSpan(amount, (text) => bundleBase(compiled, text));
  return (compiled.agents.get(layer.agent).blocks ?? []).some((block) => {
    if (block.irritant !== irritant.id) return false;
    if (!block.thickness) return true;
    return Boolean(layer.thickness) && exactIsWithin(span(layer.thickness), span(block.thickness));
  });
}
