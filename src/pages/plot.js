/* plot.js - plots drawn in the window's own px, so that their words keep their size; a finger, the mouse or the arrow keys
 * ask for the figure at a place. */
"use strict";

const LEFT = 38, RIGHT = 10, TOP = 18, BOTTOM = 36, MOST_TICKS = 5;

/* A plot of what lies along an edge or a seam.
 *   spec: {label, length, low, high, unit, axis, draw(x, y), at(place) -> {at, text} or null, height, tell(place)}
 * draw returns what lies between the axes; x and y turn mm along and values into px. */
sw.plot = (spec) => {
  const reading = sw.el("p", { class: "reading", "aria-live": "polite" }, spec.hint || "Tap the plot for the figure at a place.");
  const holder = sw.el("div", {}), height = spec.height || 190;
  let svg = null, cursor = null, place = null, x = null;
  const point = (at) => {
    const found = spec.at(sw.clamp(at, 0, spec.length));
    if (!found) return;
    place = found.at;
    reading.textContent = found.text;
    cursor.setAttribute("d", `M${x(place)} ${TOP}V${height - BOTTOM}`);
    if (spec.tell) spec.tell(place);
  };
  const draw = (width) => {
    const wide = width - LEFT - RIGHT, tall = height - TOP - BOTTOM;
    x = (at) => LEFT + wide * sw.clamp(at / spec.length, 0, 1);
    const y = (value) => TOP + tall * (1 - sw.clamp((value - spec.low) / (spec.high - spec.low), 0, 1));
    const rows = sw.step(spec.high - spec.low, MOST_TICKS), columns = sw.step(spec.length, width < 300 ? 3 : MOST_TICKS);
    const ticks = [], digits = rows < 0.1 ? 2 : rows < 1 ? 1 : 0;
    for (let k = Math.ceil(spec.low / rows - 1e-9); k * rows <= spec.high + 1e-9; k++)
      ticks.push(sw.svg("path", { class: "grid-line", d: `M${LEFT} ${y(k * rows)}H${width - RIGHT}` }),
        sw.svg("text", { x: LEFT - 5, y: y(k * rows) + 4.5, "text-anchor": "end" }, (k * rows).toFixed(digits)));
    for (let k = 0; k * columns <= spec.length; k++)
      ticks.push(sw.svg("text", { x: x(k * columns), y: height - BOTTOM + 16, "text-anchor": "middle" }, (k * columns).toFixed(0)));
    cursor = sw.svg("path", { class: "cursor" });
    svg = sw.svg("svg", { class: "plot", viewBox: `0 0 ${width} ${height}`, height, "font-size": 13, tabindex: 0, role: "img",
      "aria-label": spec.label + ". Arrow keys read it off." }, [
      spec.behind ? spec.behind(x, TOP, tall) : "", ticks,
      sw.svg("path", { class: "axis", d: `M${LEFT} ${TOP}V${height - BOTTOM}H${width - RIGHT}` }),
      spec.draw(x, y), cursor,
      sw.svg("text", { x: 2, y: 11 }, spec.unit || "mm"),
      sw.svg("text", { x: (width + LEFT) / 2, y: height - 5, "text-anchor": "middle" }, "mm " + spec.axis),
    ]);
    const read = (e) => point((e.clientX - svg.getBoundingClientRect().left - LEFT) / wide * spec.length);
    svg.addEventListener("pointerdown", read);
    svg.addEventListener("pointermove", (e) => (e.buttons || e.pointerType === "mouse") && read(e));
    svg.addEventListener("keydown", (e) => {
      const step = { ArrowLeft: -1, ArrowRight: 1, PageUp: -10, PageDown: 10 }[e.key];
      if (!step) return;
      e.preventDefault();
      e.stopPropagation();
      point((place === null ? spec.length / 2 : place) + step * (spec.stride || 1));
    });
    const held = document.activeElement && holder.contains(document.activeElement);
    holder.replaceChildren(svg);
    if (held) svg.focus();
    if (place !== null || spec.start !== undefined) point(place === null ? spec.start : place);
  };
  sw.fit(holder, draw);
  return { node: sw.el("div", {}, [holder, reading]), again: () => holder.clientWidth && draw(Math.round(holder.clientWidth)) };
};

/* Runs of equal state along a seam's stations: [{state, from, to}] in indices. */
function runs(states) {
  const found = [];
  states.forEach((state, k) => {
    const last = found[found.length - 1];
    if (last && last.state === state) last.to = k;
    else found.push({ state, from: k, to: k });
  });
  return found;
}

/* The band and line of a seam's stations that have figures. */
function curve(s, x, y, before) {
  const drawn = [];
  let run = [];
  const end = () => {
    if (run.length > 1) {
      const up = run.map((k) => ({ at: s.at_mm[k], v: s.gap_mm[k] + (s.u95_mm[k] || 0) }));
      const down = run.map((k) => ({ at: s.at_mm[k], v: s.gap_mm[k] - (s.u95_mm[k] || 0) })).reverse();
      const px = (p) => x(p.at), py = (p) => y(p.v);
      if (!before) drawn.push(sw.svg("path", { class: "band", d: sw.path([...up, ...down], px, py) + "Z" }));
      drawn.push(sw.svg("path", { class: "gap" + (before ? " before" : ""), d: sw.path(run.map((k) => ({ at: s.at_mm[k], v: s.gap_mm[k] })), px, py) }));
    }
    run = [];
  };
  s.at_mm.forEach((_, k) => (sw.isNumber(s.gap_mm[k]) ? run.push(k) : end()));
  end();
  return drawn;
}

/* Gap along a seam with its band and the limit; `before`: the same seam in the earlier inspection. */
sw.gapPlot = (seam, before, start, tell) => {
  const s = seam.stations, HEADROOM = 1.15;
  const edge = (k, other) => (other < 0 || other >= s.at_mm.length ? (other < 0 ? 0 : seam.length_mm) : (s.at_mm[k] + s.at_mm[other]) / 2);
  let high = sw.limit * 1.5;
  for (const one of [seam, before])
    if (one) one.stations.gap_mm.forEach((gap, k) => {
      if (sw.isNumber(gap) && one.stations.state[k] === "ok") high = Math.max(high, HEADROOM * (gap + (one.stations.u95_mm[k] || 0)));
    });
  const words = { chip: "chip", end: "end, left out", unseen: "not seen", ok: "" };
  return sw.plot({
    label: "Gap along " + seam.name, length: seam.length_mm, low: 0, high, axis: sw.fromEnd(seam), start, tell, stride: s.at_mm.length > 1 ? s.at_mm[1] - s.at_mm[0] : 1,
    behind: (x, top, tall) => runs(s.state).filter((run) => run.state !== "ok").map((run) => {
      const from = x(edge(run.from, run.from - 1)), to = x(edge(run.to, run.to + 1));
      return [sw.svg("rect", { class: run.state, x: from, y: top, width: Math.max(1, to - from), height: tall }),
        run.state !== "end" && sw.svg("text", { x: (from + to) / 2, y: top - 5, "text-anchor": "middle", "font-size": 12 }, words[run.state])];
    }),
    draw: (x, y) => [
      before ? curve(before.stations, x, y, true) : "", curve(s, x, y, false),
      sw.svg("path", { class: "limit", d: `M${x(0)} ${y(sw.limit)}H${x(seam.length_mm)}` }),
      sw.svg("text", { class: "limit-word", x: x(seam.length_mm) - 3, y: y(sw.limit) - 5, "text-anchor": "end" }, "limit " + sw.limit.toFixed(2)),
      sw.isNumber(seam.gap_mm.max_at_mm) ? sw.svg("circle", { class: "widest", cx: x(seam.gap_mm.max_at_mm), cy: y(seam.gap_mm.max), r: 6 }) : "",
    ],
    at: (place) => {
      const g = sw.gapAt(seam, place), was = before ? sw.gapAt(before, place) : null;
      const said = sw.isNumber(g.gap) ? sw.figure(g.gap, g.u95) + " mm" : "not seen";
      return { at: g.at, text: `${sw.whole(g.at)} mm: ${said}${g.state !== "ok" && words[g.state] && said !== "not seen" ? " (" + words[g.state] + ")" : ""}${was && sw.isNumber(was.gap) ? ", before " + sw.fixed(was.gap, 2) + " mm" : ""}` };
    },
  });
};
