// The tooth of the cross-section: a back tooth cut from cheek to tongue, with enamel, dentine and pulp, its roots cut off.
//
// It is a scheme. Places are tenths of a unit, across from the middle of the tooth, down from the top of the picture.
// Only the cavity is drawn to scale; where that takes more room, what lies below the biting surface moves down by `more`.

const [CROWN_HALF, CROWN_RIM, CROWN_FOSSA, CROWN_HORN, CROWN_CUT] = [760, 175, 310, 1220, 2120];
const [CROWN_CAVITY, CROWN_SPOT, CROWN_SLOPE] = [420, 220, 110];

/** The biting surface within the cavity: its depth at `x` from the middle. Each side of the groove is one parabola. */
function crownTop(x) {
  const [way, rise] = [Math.abs(x), CROWN_FOSSA - CROWN_RIM];
  const steep = drawingOver(way * CROWN_SLOPE, CROWN_CAVITY);
  return CROWN_FOSSA - steep - drawingOver((rise - CROWN_SLOPE) * way * way, CROWN_CAVITY * CROWN_CAVITY);
}

/** The biting surface from the right wall of the cavity to the left one, or back, without where it starts. */
function crownBiting(isBack) {
  const [way, control] = [isBack ? -1 : 1, CROWN_FOSSA - CROWN_SLOPE / 2];
  return [
    ["Q", [(way * CROWN_CAVITY) / 2, control], [0, CROWN_FOSSA]],
    ["Q", [(-way * CROWN_CAVITY) / 2, control], [-way * CROWN_CAVITY, CROWN_RIM]],
  ];
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
  return crownPath(x, [
    ["M", [-660, 1290 + more]],
    ["C", [-690, 1140 + more], [-775, 900 + more], [-760, 640 + more]],
    ["C", [-745, 400], [-670, 95], [-545, 95]],
    ["C", [-495, 95], [-465, 157], [-CROWN_CAVITY, CROWN_RIM]],
    ...crownBiting(true),
    ["C", [465, 157], [495, 80], [550, 80]],
    ["C", [675, 80], [745, 400], [760, 640 + more]],
    ["C", [775, 900 + more], [690, 1140 + more], [660, 1290 + more]],
  ]);
}

/** From the right neck along the dentine under the enamel to the left neck. */
function crownInner(x, more) {
  return crownPath(x, [
    ["C", [650, 1130 + more], [617, 860 + more], [585, 660 + more]],
    ["C", [560, 500], [560, 340], [500, 340]],
    ["C", [430, 340], [250, 500], [0, 500]],
    ["C", [-250, 500], [-430, 350], [-495, 350]],
    ["C", [-555, 350], [-560, 500], [-585, 660 + more]],
    ["C", [-617, 860 + more], [-650, 1130 + more], [-660, 1290 + more]],
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
