// The figures of replies for the builder, which runs this script without a page. Everything goes in as JSON texts.

let drawer = null;

/** Takes the bundle that frames the replies, and the words. */
function drawerStart(bundle, words) {
  sayStart(JSON.parse(words));
  const compiled = readBundle(JSON.parse(bundle));
  drawer = { compiled, frame: wordsFrame(compiled.bundle, SAY) };
}

/** The cross-section for a reply. */
function drawerSection(reply, uid) {
  return crossSection(drawer.frame, JSON.parse(reply), uid);
}

/**
 * The cross-sections for the cases of a sheet, one to one scale with the other and of one size, `wide` tenths of a unit
 * wide; the empty text where there is none. Each case is a reply with what it stands for: `band` in words and the `at`
 * at which it is drawn (nothing where no value stands for it), and `top`, what all its choices are called.
 */
function drawerSheet(cases, uid, wide) {
  const sections = JSON.parse(cases).map((one) => {
    const section = sectionOf(drawer.frame, one.reply);
    return section && drawerStanding(section, one);
  });
  const scales = sections.filter(Boolean).map(toothScale);
  if (!scales.length) return JSON.stringify(sections.map(() => ""));
  const scale = scales.reduce((least, one) => (one.compare(least) < 0 ? one : least));
  const drawings = sections.map((section, n) => section && new ToothDrawing(section, `${uid}-${n + 1}`, { scale, wide }));
  const drawn = drawings.filter(Boolean);
  const more = Math.max(...drawn.map((drawing) => drawing.more));
  for (const drawing of drawn) drawing.more = more;
  const high = Math.max(...drawn.map((drawing) => drawing.least()));
  return JSON.stringify(drawings.map((drawing) => (drawing ? drawing.figure(high) : "")));
}

/** A section that stands for all cases of a band and of several choices. */
function drawerStanding(section, { band, at, top }) {
  const { ground } = section;
  const words = at ? say("drawn-at", { amount: band, at }) : band;
  const standing = ground.thickness === null ? ground : { ...ground, words, thickness: at ? ground.thickness : null };
  return { ...section, ground: standing, top: top ? [top, ""] : section.top };
}

/** The reading chart for a reply. */
function drawerReading(reply, uid) {
  return readingChart(drawer.compiled, drawer.frame, JSON.parse(reply), uid);
}
