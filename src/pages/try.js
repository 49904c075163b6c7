/* try.js - another limit: verdicts, list and the work it costs change at once; the page's verdict above stays the program's. */
"use strict";

sw.tryLimit = (part, box) => {
  const own = sw.inspection.tolerance_mm, seams = sw.inspection.seams, by = (sw.data.plan && sw.data.plan.by_limit) || [];
  const out = sw.el("output", { for: "limit" }), count = sw.el("ul", { class: "count", "aria-live": "polite" }), cost = sw.el("p", { "aria-live": "polite" });
  const slider = sw.el("input", { type: "range", id: "limit", min: Math.min(0.1, own), max: Math.max(2.5, own), step: "any", value: own, "aria-label": "Limit in mm" });
  const back = sw.el("button", { type: "button", onclick: () => set(own) }, `Back to ${own.toFixed(2)} mm`);
  const names = { over: "over", "too close to call": "too close to call", within: "within" };
  const edges = (n, one, many) => `${n} ${n === 1 ? one : many}`;
  function costs() {
    const same = by.find((one) => Math.abs(one.limit_mm - sw.limit) < 0.001), above = by.filter((one) => one.limit_mm <= sw.limit + 0.001).pop(),
      below = by.find((one) => one.limit_mm >= sw.limit - 0.001);
    const say = (one) => (one.bevels + one.true_ups === 0 ? "nothing to sand" : `${edges(one.bevels, "face to bevel", "faces to bevel")}, ${edges(one.true_ups, "edge to true up", "edges to true up")}`);
    if (!by.length) return "";
    if (same) return `Work for ${sw.limit.toFixed(2)} mm: ${say(same)}.`;
    if (!above) return `Work: more than for ${below.limit_mm.toFixed(2)} mm (${say(below)}).`;
    if (!below) return `Work: no more than for ${above.limit_mm.toFixed(2)} mm (${say(above)}).`;
    return `Work: between that for ${above.limit_mm.toFixed(2)} mm (${say(above)}) and for ${below.limit_mm.toFixed(2)} mm (${say(below)}).`;
  }
  function show() {
    const n = sw.countAt(seams, sw.limit);
    out.textContent = sw.limit.toFixed(2) + " mm";
    slider.value = sw.limit;
    slider.setAttribute("aria-valuetext", out.textContent);
    count.replaceChildren(...Object.keys(names).map((name) => sw.el("li", {}, [sw.sign(name), ` ${n[name]} ${names[name]}`])));
    cost.textContent = costs();
    back.hidden = sw.limit === own;
  }
  function set(limit) {
    sw.limit = limit;
    show();
    sw.tell("limit");
  }
  /* Hundredths, as the limit is said; the program's own exactly. */
  slider.addEventListener("input", () => {
    const limit = Math.round(Number(slider.value) * 20) / 20;
    set(Math.abs(Number(slider.value) - own) < 0.024 ? own : limit);
  });
  slider.addEventListener("keydown", (e) => {
    const step = { ArrowLeft: -0.05, ArrowDown: -0.05, ArrowRight: 0.05, ArrowUp: 0.05 }[e.key];
    if (!step) return;
    e.preventDefault();
    set(sw.clamp(Math.round((sw.limit + step) * 100) / 100, Number(slider.min), Number(slider.max)));
  });
  sw.setLimit = set;
  box.append(sw.el("div", { class: "set" }, [slider, out, back]), count, cost,
    sw.el("p", { class: "soft" }, "What would another limit mean? The picture, the list of work and the seams follow what you set here. For that limit's own work list, plan again with it."));
  part.hidden = false;
  show();
};
