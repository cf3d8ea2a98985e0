// The tooth of the cross-section: a back tooth cut from cheek to tongue, with enamel, dentine and pulp, its roots cut off.
//
// It is a scheme. Places are tenths of a unit, across from the middle of the tooth, down from the top of the picture.
// Only the cavity is drawn to scale; where that takes more room, what lies below the biting surface moves down by `more`.

const [CROWN_HALF, CROWN_RIM, CROWN_FOSSA, CROWN_HORN, CROWN_CUT] = [760, 150, 290, 1220, 2120];
const CROWN_CAVITY = 420;
const CROWN_SPOT = 220;

/** The biting surface within the cavity: its depth at `x` from the middle. It is a parabola, so one curve draws it. */
function crownTop(x) {
  return CROWN_FOSSA - drawingOver((CROWN_FOSSA - CROWN_RIM) * x * x, CROWN_CAVITY * CROWN_CAVITY);
}

/** What lies under the cavity: dentine, enamel and pulp, filled. */
function crownTissues(x, more) {
  const filled = (name, colour, data) => `<path class="${name}" d="${data}Z" fill="${colour}"/>`;
  const [outer, inner, pulp] = [crownOutline(x, more), crownInner(x, more), crownPulp(x, more)];
  return [
    filled("fig-sand", DRAWING_SAND, outer),
    filled("fig-enamel", DRAWING_ENAMEL, `${crownCap(x, more)}${inner}`),
    drawingStroke(`M${drawingPlace(x + 660, 1290 + more)}${inner}`, "0.9"),
    filled("fig-pulp", DRAWING_PULP, pulp),
    drawingStroke(pulp, "1.1"),
  ].join("");
}

/** The outline of the whole, and where the roots are cut off. */
function crownEdge(x, more) {
  return drawingStroke(crownOutline(x, more), "1.8");
}

/** From the left neck over both cusps to the right neck. */
function crownCap(x, more) {
  const biting = [[0, 2 * CROWN_FOSSA - CROWN_RIM], [CROWN_CAVITY, CROWN_RIM]];
  return crownPath(x, [
    ["M", [-660, 1290 + more]],
    ["C", [-690, 1140 + more], [-775, 900 + more], [-760, 640 + more]],
    ["C", [-745, 400], [-650, 110], [-510, 110]],
    ["C", [-470, 110], [-440, 130], [-CROWN_CAVITY, CROWN_RIM]],
    ["Q", ...biting],
    ["C", [445, 125], [480, 95], [520, 95]],
    ["C", [660, 95], [745, 400], [760, 640 + more]],
    ["C", [775, 900 + more], [690, 1140 + more], [660, 1290 + more]],
  ]);
}

/** From the right neck along the dentine under the enamel to the left neck. */
function crownInner(x, more) {
  return crownPath(x, [
    ["C", [650, 1130 + more], [625, 860 + more], [585, 660 + more]],
    ["C", [560, 500], [540, 350], [490, 350]],
    ["C", [420, 350], [250, 500], [0, 500]],
    ["C", [-250, 500], [-420, 360], [-480, 360]],
    ["C", [-540, 360], [-560, 500], [-585, 660 + more]],
    ["C", [-625, 860 + more], [-650, 1130 + more], [-660, 1290 + more]],
  ]);
}

function crownOutline(x, more) {
  const cut = CROWN_CUT + more;
  return (
    crownCap(x, more) +
    crownPath(x, [
      ["C", [640, 1500 + more], [640, 1760 + more], [590, cut]],
      ["C", [500, cut - 70], [380, cut + 70], [270, cut]],
      ["C", [240, 1960 + more], [140, 1850 + more], [0, 1850 + more]],
      ["C", [-140, 1850 + more], [-240, 1960 + more], [-270, cut]],
      ["C", [-380, cut - 70], [-500, cut + 70], [-590, cut]],
      ["C", [-640, 1760 + more], [-640, 1500 + more], [-660, 1290 + more]],
    ])
  );
}

/** The pulp: a chamber with two horns, the right one under the deepest spot, and the beginning of a canal in each root. */
function crownPulp(x, more) {
  const [cut, horn] = [CROWN_CUT + more, CROWN_HORN + more];
  return crownPath(x, [
    ["M", [470, cut - 13]],
    ["C", [480, 1860 + more], [430, 1670 + more], [380, 1530 + more]],
    ["C", [340, 1420 + more], [290, horn], [CROWN_SPOT, horn]],
    ["C", [160, horn], [160, 1410 + more], [0, 1410 + more]],
    ["C", [-160, 1410 + more], [-150, horn + 60], [-220, horn + 60]],
    ["C", [-290, horn + 60], [-340, 1430 + more], [-380, 1540 + more]],
    ["C", [-430, 1670 + more], [-480, 1860 + more], [-470, cut + 11]],
    ["L", [-390, cut - 13]],
    ["C", [-370, 1860 + more], [-260, 1710 + more], [0, 1710 + more]],
    ["C", [260, 1710 + more], [370, 1860 + more], [390, cut + 12]],
  ]);
}

/** Path data of commands with places from the middle of the tooth, which stands at `x`. */
function crownPath(x, commands) {
  return commands.map(([sign, ...places]) => sign + places.map(([u, y]) => drawingPlace(x + u, y)).join(" ")).join("");
}
