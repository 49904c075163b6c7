/* shape.js - where things lie. Table: mm, x east, y north. A seam: mm along it from its north or west end, and mm across it,
 * upwards in its strip (north of a level seam, east of an upright one). */
"use strict";

const SIDES = ["north", "east", "south", "west"];
const OUTWARD = { north: Math.PI / 2, east: 0, south: -Math.PI / 2, west: Math.PI };

/* The corner at an edge's north or west end. */
const STARTS = { north: "NW", west: "NW", east: "NE", south: "SW" };

/* The places of an edge on the table: [{x, y, at, proud, state}], null figures left out. The same as sw_read_derive_places. */
sw.edgePlaces = (tile, side) => {
  const edge = tile.edges[side], square = tile.best_square, t = square.turn_rad, start = tile.corners[STARTS[side]];
  const n = { x: Math.cos(t + OUTWARD[side]), y: Math.sin(t + OUTWARD[side]) };
  const level = side === "north" || side === "south";
  const u = level ? { x: Math.cos(t), y: Math.sin(t) } : { x: Math.sin(t), y: -Math.cos(t) };
  const from = u.x * (start.x_mm - square.x_mm) + u.y * (start.y_mm - square.y_mm);
  const places = [];
  edge.at_mm.forEach((at, i) => {
    const proud = edge.proud_mm[i];
    if (!sw.isNumber(at) || !sw.isNumber(proud)) return;
    const out = square.side_mm / 2 + proud, along = from + at;
    places.push({ x: square.x_mm + n.x * out + u.x * along, y: square.y_mm + n.y * out + u.y * along, at, proud,
      state: edge.state ? edge.state[i] : "ok" });
  });
  return places;
};

/* A tile's middle in the picture, x to the east and y to the south, mm; of one that was not seen, where the grid has it. */
sw.middleOf = (inspection, tile) => {
  const square = tile.best_square, side = inspection.table.tile_mm;
  return sw.isNumber(square.x_mm) && sw.isNumber(square.y_mm) ? { x: square.x_mm, y: -square.y_mm } : { x: (tile.column + 0.5) * side, y: (tile.row + 0.5) * side };
};

sw.sides = SIDES;
sw.tileNamed = (inspection, name) => inspection.tiles.find((tile) => tile.name === name);
/* "A1 east": the tile and the side. */
sw.edgeNamed = (inspection, name) => {
  const cut = name.lastIndexOf(" "), tile = sw.tileNamed(inspection, name.slice(0, cut));
  return tile ? { tile, side: name.slice(cut + 1) } : null;
};

/* A seam's own frame: its start, the way along it and the way across it. */
sw.frameOf = (seam) => {
  const dx = seam.end.x_mm - seam.start.x_mm, dy = seam.end.y_mm - seam.start.y_mm, length = Math.hypot(dx, dy) || 1;
  const u = { x: dx / length, y: dy / length };
  return { x: seam.start.x_mm, y: seam.start.y_mm, u, v: { x: -u.y, y: u.x } };
};
sw.intoFrame = (frame, p) => {
  const x = p.x - frame.x, y = p.y - frame.y;
  return { at: x * frame.u.x + y * frame.u.y, off: x * frame.v.x + y * frame.v.y };
};
sw.outOfFrame = (frame, at, off = 0) => ({ x: frame.x + at * frame.u.x + off * frame.v.x, y: frame.y + at * frame.u.y + off * frame.v.y });

/* Both rims of a seam in its frame, worked out once: [[{at, off}...], [...]], the first-named edge first. */
const rims = new WeakMap();
sw.rimsOf = (inspection, seam) => {
  if (!rims.has(seam)) {
    const frame = sw.frameOf(seam);
    rims.set(seam, seam.edges.map((name) => {
      const edge = sw.edgeNamed(inspection, name);
      return edge ? sw.edgePlaces(edge.tile, edge.side).map((p) => sw.intoFrame(frame, p)) : [];
    }));
  }
  return rims.get(seam);
};

/* The points of a line for SVG. */
sw.path = (points, x, y) => points.map((p, i) => (i ? "L" : "M") + x(p).toFixed(2) + " " + y(p).toFixed(2)).join("");

/* Where along a seam its figures are counted from. */
sw.fromEnd = (seam) => "from its " + (seam.upright ? "north" : "west") + " end";
