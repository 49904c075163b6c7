/* rounds.js - what the rounds have brought: seams over as a small line, each seam before and after, what came off. */
"use strict";

/* Seams over, round by round. */
function overLine(rounds) {
  const holder = sw.el("div", {}), HEIGHT = 84, most = Math.max(1, ...rounds.map((r) => r.over));
  sw.fit(holder, (width) => {
    const wide = Math.min(width, 420), x = (k) => 24 + (wide - 48) * (rounds.length > 1 ? k / (rounds.length - 1) : 0.5), y = (n) => 58 - 36 * (n / most);
    holder.replaceChildren(sw.svg("svg", { viewBox: `0 0 ${wide} ${HEIGHT}`, width: wide, height: HEIGHT, class: "plot", style: "cursor:auto", "font-size": 13, role: "img",
      "aria-label": "Seams over, round by round: " + rounds.map((r) => r.over).join(", ") }, [
      sw.svg("path", { class: "gap", d: sw.path(rounds.map((r, k) => ({ k, n: r.over })), (p) => x(p.k), (p) => y(p.n)) }),
      rounds.map((r, k) => [sw.svg("circle", { cx: x(k), cy: y(r.over), r: 4.5, fill: "currentColor" }),
        sw.svg("text", { x: x(k), y: y(r.over) - 10, "text-anchor": "middle", "font-weight": 600 }, r.over),
        sw.svg("text", { x: x(k), y: HEIGHT - 6, "text-anchor": "middle" }, k === rounds.length - 1 ? "now" : k === 0 ? "first" : String(k + 1))]),
    ]));
  });
  return holder;
}

sw.rounds = (part, box) => {
  const rounds = sw.data.rounds || [], recheck = sw.data.recheck;
  if (rounds.length < 2 || !recheck) return;
  part.hidden = false;
  const rows = recheck.seams.map((one) => {
    const index = sw.inspection.seams.findIndex((seam) => seam.name === one.name);
    return [index >= 0 ? sw.el("button", { type: "button", class: "link", onclick: () => sw.openSeam(index) }, one.name) : one.name,
      sw.figure(one.before_mm, one.before_u95_mm), sw.figure(one.after_mm, one.after_u95_mm),
      [sw.sign(one.verdict), sw.el("span", { class: "desk" }, " " + one.verdict)]];
  });
  const FIRST = 3, heads = ["Seam", "Before, mm", "Now, mm", "Now"];
  box.append(sw.el("p", {}, "Seams over: " + rounds.map((r) => r.over).join(" → ") + "."), overLine(rounds), sw.table(heads, rows.slice(0, FIRST), [1, 2]));
  if (rows.length > FIRST)
    box.append(sw.el("details", {}, [sw.el("summary", {}, `${rows.length - FIRST} more seams, each before and after`), sw.table(heads, rows.slice(FIRST), [1, 2])]));
};

/* What came off each edge of the plan. */
sw.changes = () => {
  const recheck = sw.data.recheck;
  if (!recheck || !recheck.edges || !recheck.edges.length) return;
  sw.folded("changes", (box) => box.append(sw.table(["Edge", "Planned, mm", "Came off, mm", "At, mm", "With its opposite", "Remark"],
    recheck.edges.map((e) => [e.edge, sw.fixed(e.planned_mm, 2), sw.figure(e.taken_mm, e.taken_u95_mm), sw.fixed(e.taken_at_mm, 0),
      sw.figure(e.with_opposite_mm, e.with_opposite_u95_mm), e.too_much ? "too much" : e.not_enough ? "not enough" : "no sign of too much or too little"]), [1, 2, 3, 4])));
};
