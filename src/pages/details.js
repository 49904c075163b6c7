/* details.js - the folded tables: every seam, and how sure the figures are. */
"use strict";

sw.allSeams = () => sw.folded("all-seams", (box) => {
  const steps = sw.inspection.seams.some((seam) => sw.isNumber(seam.step_mm));
  const show = () => box.replaceChildren(
    sw.el("p", {}, `Widest gap of each seam, against ${sw.limit.toFixed(2)} mm. Tap a name for the photo and the plot along it.`),
    sw.table(["Seam", "Verdict", "Widest, mm", "At, mm", "Mean, mm", "Grows by, mm"].concat(steps ? ["Step, mm"] : []), sw.worstFirst().map((seam) => {
      const index = sw.inspection.seams.indexOf(seam), gap = seam.gap_mm, verdict = sw.verdictNow(seam);
      return [sw.el("button", { type: "button", class: "link", onclick: () => sw.openSeam(index) }, seam.name),
        sw.isNumber(gap.max) ? [sw.sign(verdict), " " + verdict] : "not seen", sw.figure(gap.max, gap.max_u95), (sw.isNumber(gap.max_at_mm) ? sw.whole(gap.max_at_mm) : "?"), sw.figure(gap.mean, gap.mean_u95),
        sw.isNumber(seam.taper_mm) ? sw.figure(Math.abs(seam.taper_mm), seam.taper_u95_mm) + (seam.upright ? (seam.taper_mm >= 0 ? " to the south" : " to the north") : seam.taper_mm >= 0 ? " to the east" : " to the west") : "?"]
        .concat(steps ? [sw.isNumber(seam.step_mm) ? sw.figure(seam.step_mm, seam.step_u95_mm, 1) : "?"] : []);
    }), [2, 3, 4]));
  show();
  sw.on("limit", show);
});

function scaleFacts(ins) {
  const s = ins.scale, per = s.px_per_mm, given = ins.given && ins.given.lens;
  const lens = { profile: "From a lens profile" + (given && given.photos ? ` made of ${given.photos} photos.` : "."),
    estimated: "Estimated from this picture alone, by its straight lines. Straightness and squareness are less sure than with a lens profile; their ± say by how much.",
    none: "Taken to draw straight lines straight; nothing was corrected." }[s.lens];
  const facts = [
    ["Reference squares", `${s.squares} of ${s.reference} mm. ` + (s.squares === 1 ? "One square sets the scale well where it lies; far from it lengths and angles are less sure, which is in their ±. Four near the table's corners make them surer." : "All were fitted at once.")],
    ["Scale", sw.isNumber(per) && `${per.toFixed(2)} px per mm; one pixel is ${(1 / per).toFixed(2)} mm.`],
    ["Fit", sw.isNumber(s.residual_px) && sw.isNumber(per) && `The squares' edges lie within ${s.residual_px.toFixed(3)} px (${(s.residual_px / per).toFixed(3)} mm) of the fitted squares, RMS.`],
    ["Lens", lens],
    ["Edge spread", sw.isNumber(s.edge_spread_px) && `Dark edges read ${sw.figure(Math.abs(s.edge_spread_px), 2 * s.edge_spread_u_px)} px too ${s.edge_spread_px >= 0 ? "narrow" : "wide"}; lengths are corrected for it.`],
    ["Blur", sw.isNumber(s.blur_px) && s.blur_px > 0 && `${s.blur_px.toFixed(2)} px, one standard deviation.`],
    ["Table", `${ins.table.columns} by ${ins.table.rows} tiles of ${sw.fixed(ins.table.tile_mm, 1)} mm, ${ins.table.tile_given ? "as given" : "worked out from the picture"}` + (ins.table.height_mm ? `; tops ${ins.table.height_mm} mm above the table.` : ".")],
    ["Stations", `Every ${sw.fixed(ins.step_mm, 1)} mm along each seam.`],
  ];
  return sw.el("dl", {}, facts.filter((fact) => fact[1]).map(([name, says]) => [sw.el("dt", {}, name), sw.el("dd", {}, says)]));
}

/* What the ± of a figure is made of: in words, largest first. */
function budgets(ins) {
  return (ins.budget || []).map((one) => sw.el("details", {}, [
    sw.el("summary", {}, `${one.figure[0].toUpperCase() + one.figure.slice(1)}, ${one.of}: ${sw.figure(one.value, one.u95, 2)} ${one.unit}`),
    one.next ? sw.el("p", {}, "To make it surer: " + one.next) : "",
    sw.table(["What", "Told by", "u, " + one.unit, "Share"], one.components.map((c) => [c.name + (c.included === false ? " (left out: " + (c.note || "") + ")" : ""), c.kind,
      sw.fixed(c.u, 4), sw.isNumber(c.share) ? Math.round(100 * c.share) + " %" : ""]), [2, 3])]));
}

function severalPhotos(ins) {
  const r = ins.repeatability;
  if (!r) return [];
  return [sw.el("h3", {}, "Several photos"),
    sw.el("p", {}, sw.data.says.repeat), sw.el("p", {}, "More photos make noise smaller, not what all of them get wrong alike: the card's size, the lens profile, a lamp that stays where it is."),
    sw.table(["Seam", "Photos", "Left out", "s_r, mm", "Stated u, mm", "Widened"], (r.seams || []).map((s) => [s.name, s.photos, s.left_out || "", sw.fixed(s.s_r_mm, 3), sw.fixed(s.stated_u_mm, 3), s.widened > 1 ? s.widened.toFixed(1) + " times" : "no"]), [1, 2, 3, 4])];
}

function reading(limit, share) {
  return sw.el("ul", { class: "words" }, [
    ["0.80 ± 0.06 mm", "the best figure is 0.80 mm, and in 95 of 100 such cases the true one lies between 0.74 and 0.86 mm. Soft light from all sides gives a smaller ±."],
    ["Within, over, too close to call", `within only if the widest gap lies below the limit by a guard band, over only if it lies above by as much. The guard band is ${sw.fixed(share, 2)} times the ±: with ± 0.06 mm a gap of up to ${Math.max(0, limit - 0.05).toFixed(2)} mm is within ${limit.toFixed(2)} mm. Each call is wrong in at most 5 of 100 cases.`],
    ["Too close to call", "sand nothing; try a feeler gauge of the limit's thickness, or take a nearer, sharper photo."],
    ["Gap", "what lies between the two side faces just below the rounding of their rims: what a feeler gauge meets."],
    ["Proud, shy", "standing out beyond, or falling short of, the true line. Bow, hollow: the middle stands proud or shy of the ends."],
    ["Straight to", "the distance between the two closest parallel lines that hold the whole edge, chips left out."],
    ["True up", "sand an edge to its line. Bevel: relieve the lower part of a side face, where the base holds the tops apart. Fill: fill a chip, never sand a whole edge for it."],
  ].map(([word, says]) => sw.el("li", {}, [sw.el("b", {}, word + ": "), says])));
}

sw.trust = () => sw.folded("trust", (box) => {
  box.append(sw.el("h3", {}, "How to read them"), reading(sw.inspection.tolerance_mm, (sw.data.guard || {}).share),
    sw.el("h3", {}, "How the scale was set"), scaleFacts(sw.inspection), ...severalPhotos(sw.inspection));
  if ((sw.inspection.budget || []).length) box.append(sw.el("h3", {}, "What the ± is made of"), ...budgets(sw.inspection));
});
