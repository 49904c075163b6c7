/* plan.js - what the plan takes off each edge, and what each seam comes to. */
"use strict";

sw.planEdges = () => {
  const plan = sw.data.plan;
  if (!plan || !plan.edges || !plan.edges.length) return;
  sw.folded("edges", (box) => {
    const wanted = new Set((plan.work || []).flatMap((line) => line.edges || []));
    const edges = plan.edges.filter((e) => e.true_up.length || e.bevel_mm > 0), listed = edges.filter((e) => !wanted.size || wanted.has(e.edge));
    const most = Math.max(0.2, ...edges.flatMap((e) => e.true_up.map((p) => p.remove_mm)));
    const end = (e) => "from its " + (/(east|west)$/.test(e.edge) ? "north" : "west") + " end";
    const plots = sw.el("div", { class: "grid" });
    const plot = (e) => {
      const line = e.true_up, at = (place) => {
        const k = line.findIndex((p) => p.at_mm >= place), b = line[k < 0 ? line.length - 1 : k], a = line[Math.max(0, (k < 0 ? line.length - 1 : k) - 1)], span = b.at_mm - a.at_mm;
        const off = span > 0 ? a.remove_mm + (b.remove_mm - a.remove_mm) * sw.clamp((place - a.at_mm) / span, 0, 1) : b.remove_mm;
        return { at: place, text: `${e.edge}, ${place.toFixed(0)} mm: take off ${off.toFixed(2)} mm` };
      };
      const foot = (p) => ({ at_mm: p.at_mm, remove_mm: 0 });
      return sw.el("figure", {}, [sw.el("h3", {}, e.edge), sw.el("p", {}, e.why),
        sw.plot({ label: "What to take off " + e.edge, length: e.length_mm, low: 0, high: most * 1.1, height: 150, axis: end(e), stride: 5,
          draw: (x, y) => sw.svg("path", { class: "cut", d: sw.path([foot(line[0]), ...line, foot(line[line.length - 1])], (p) => x(p.at_mm), (p) => y(p.remove_mm)) + "Z" }), at }).node]);
    };
    box.append(...[sw.data.says.amount, sw.data.says.leave].filter(Boolean).map((text) => sw.el("p", {}, text)));
    box.append(sw.table(["Edge", "Top edge, at most, mm", "Base, if it leans, mm"], listed.map((e) => [e.edge, e.true_up.length ? sw.fixed(e.deepest_mm, 2) : "", e.bevel_mm > 0 ? "up to " + e.bevel_mm.toFixed(1) : ""]), [1, 2]));
    if (listed.some((e) => e.true_up.length))
      box.append(sw.el("details", {}, [sw.el("summary", {}, "Where along each edge"), sw.el("p", {}, "All plots have one scale. The strips, at true size, are in strips.pdf: print them at 100 %."), plots]));
    plots.append(...listed.filter((e) => e.true_up.length).map(plot));
    box.append(sw.el("details", {}, [sw.el("summary", {}, "What each seam comes to"), sw.table(["Seam", "Now, mm", "Pushed, mm", "Done and pushed, mm", "Promised"], (plan.seams || []).map((s) => {
      const f = (plan.forecast || []).find((one) => one.name === s.name);
      return [s.name, sw.figure(s.max_now_mm, s.max_now_u95_mm), sw.fixed(s.max_pushed_mm, 2), f ? sw.figure(f.max_mm, f.u95_mm) : sw.fixed(s.max_after_mm, 2), f ? [sw.sign(f.verdict), " " + f.verdict] : ""];
    }), [1, 2, 3])]));
    if ((plan.by_limit || []).length) box.append(sw.el("details", {}, [sw.el("summary", {}, "How good is good enough"), sw.table(["Limit, mm", "Faces to bevel", "Edges to true up", "Off, mm²"],
      plan.by_limit.map((b) => [b.limit_mm.toFixed(2), b.bevels, b.true_ups, sw.fixed(b.removed_mm2, 0)]), [0, 1, 2, 3])]));
  });
};

/* Another arrangement: which tile goes where, and what each place comes to. */
sw.arrangement = () => {
  const found = sw.data.arrangement;
  if (!found || !found.after) return;
  sw.folded("layout", (box) => {
    const columns = sw.inspection ? sw.inspection.table.columns : Math.round(Math.sqrt(found.after.places.length));
    const turns = ["", "a quarter turn clockwise", "half a turn", "a quarter turn counter-clockwise"];
    const grid = sw.el("div", { class: "tiles-grid", style: `grid-template-columns:repeat(${columns},minmax(0,1fr))` });
    found.after.places.forEach((p) => grid.append(sw.el("div", { class: p.tile !== p.place || p.quarter_turns ? "moved" : null },
      [p.tile, sw.el("small", {}, p.tile === p.place && !p.quarter_turns ? "stays" : [p.tile === p.place ? "stays here" : "from " + p.tile + "'s place", p.quarter_turns ? ", " + turns[p.quarter_turns] : ""])])));
    const before = new Map(found.before.seams.map((s) => [s.name, s]));
    box.append(sw.el("p", {}, "North is up, as in the photo. A thick frame: this tile moves or turns."), grid, sw.el("p", {}, [sw.el("b", {}, "Layout: "), found.after.layout]),
      sw.table(["Place", "Now pushed, at worst, mm", "Laid anew, at worst, mm", "At best, mm"], [...found.after.seams].sort((a, b) => b.max_mm - a.max_mm).map((s) => [s.name, sw.fixed((before.get(s.name) || {}).max_mm, 2), sw.figure(s.max_mm, s.u95_mm), sw.fixed(s.best_mm, 2)]), [1, 2, 3]));
  });
};
