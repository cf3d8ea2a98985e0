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

/** The reading chart for a reply. */
function drawerReading(reply, uid) {
  return readingChart(drawer.compiled, drawer.frame, JSON.parse(reply), uid);
}
