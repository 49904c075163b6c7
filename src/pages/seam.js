/* seam.js - one seam opened: what was found, the photo along it, the plot, and the place that is pointed at; with an earlier
 * round both side by side, same cut, same scale. */
"use strict";

/* The seam in the earlier inspection that is this one; it may have another name there when tiles were laid anew. */
sw.seamBefore = (seam) => {
  const change = sw.data.recheck && sw.data.recheck.seams.find((one) => one.name === seam.name);
  if (!sw.data.before || !change || !change.name_before) return null;
  return sw.data.before.seams.find((one) => one.name === change.name_before) || null;
};

sw.openSeam = (index, at) => {
  const dialog = sw.byId("seam"), seam = sw.inspection.seams[index], before = sw.seamBefore(seam);
  const verdict = sw.verdictNow(seam), seen = sw.isNumber(seam.gap_mm.max), REACH_MM = 4;
  const start = sw.isNumber(at) ? at : sw.isNumber(seam.gap_mm.max_at_mm) ? seam.gap_mm.max_at_mm : seam.length_mm / 2;
  const pair = sw.el("div", { class: "pair" });
  const point = (place) => {
    const figures = (when, i, words) => sw.hasStrips(when) && sw.el("figure", { class: "crop" }, [sw.crop(when, i, place, 16), sw.el("span", {}, words)]);
    const g = sw.gapAt(seam, place), here = sw.figure(g.gap, g.u95) + (sw.isNumber(g.gap) ? " mm" : "") + ` at ${sw.whole(place)} mm`;
    const was = before ? sw.gapAt(before, place) : null;
    pair.replaceChildren(...[
      before && figures("before", sw.data.before.seams.indexOf(before), "Before: " + sw.figure(was.gap, was.u95) + (sw.isNumber(was.gap) ? " mm" : "")),
      figures("now", index, (before ? "Now: " : "") + here)].filter(Boolean));
  };
  const go = (step) => sw.openSeam((index + step + sw.inspection.seams.length) % sw.inspection.seams.length);
  const work = sw.data.says.work.filter((line) => line.seam === seam.name);
  const plot = seam.stations.at_mm.length ? sw.gapPlot(seam, before, start, point) : null;
  sw.byId("seam-in").replaceChildren(
    sw.el("header", {}, [
      sw.el("h2", { id: "seam-name" }, [sw.sign(seen ? verdict : "none"), ` ${seam.name}: ${seen ? verdict : "not seen"}`]),
      sw.el("div", { class: "row" }, [
        sw.el("button", { type: "button", "aria-label": "The seam before", onclick: () => go(-1) }, "◂"),
        sw.el("button", { type: "button", "aria-label": "The seam behind", onclick: () => go(1) }, "▸"),
        sw.el("button", { type: "button", onclick: () => dialog.close() }, "Close")])]),
    sw.el("p", {}, sw.data.says.seam_text[index] || ""),
    ...work.map((line) => sw.el("p", {}, [sw.el("b", {}, `Line ${line.rank} of the work: `), line.do])),
    pair,
    sw.hasStrips("now") ? sw.el("figure", {}, [sw.strip("now", index, REACH_MM), sw.el("figcaption", {},
      `The photo along the seam, from its ${seam.upright ? "north" : "west"} end, ${2 * REACH_MM} mm across, drawn wider than it is.`)]) : "",
    plot ? plot.node : "");
  if (!dialog.open) dialog.showModal();
  dialog.scrollTop = 0;
};

sw.byId("seam").addEventListener("click", (e) => {
  if (e.target === e.currentTarget) e.currentTarget.close(); /* beside it */
});
