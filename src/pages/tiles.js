/* tiles.js - each tile's outline with its errors drawn larger, the heights of the tops, the half-way marks. */
"use strict";

/* An outline `px` wide: errors drawn `times` larger than the tile. */
function outline(tile, times) {
  const holder = sw.el("div", {}), reading = sw.el("p", { class: "reading", "aria-live": "polite" }, "Tap an edge for the figure at a place.");
  const side_mm = tile.best_square.side_mm, square = tile.best_square;
  const places = sw.sides.flatMap((side) => sw.edgePlaces(tile, side).filter((p) => p.state !== "unseen").map((p) => ({ ...p, side })));
  sw.fit(holder, (width) => {
    const MARGIN = 46, scale = (width - 2 * MARGIN) / side_mm, cos = Math.cos(square.turn_rad), sin = Math.sin(square.turn_rad);
    const put = (p) => {
      const dx = p.x - square.x_mm, dy = p.y - square.y_mm, across = { x: dx * cos + dy * sin, y: -dx * sin + dy * cos };
      const level = p.side === "north" || p.side === "south", more = p.proud * (times * 1 - 1) * (p.side === "north" || p.side === "east" ? 1 : -1);
      if (level) across.y += more;
      else across.x += more;
      return { x: width / 2 + scale * across.x, y: width / 2 - scale * across.y };
    };
    const mark = sw.svg("circle", { r: 5, class: "cursor", display: "none" });
    const svg = sw.svg("svg", { class: "plot", viewBox: `0 0 ${width} ${width}`, "font-size": 12.5, tabindex: 0, role: "img", "aria-label": `Outline of ${tile.name}, errors drawn ${times} times larger` }, [
      sw.svg("rect", { class: "square", x: MARGIN, y: MARGIN, width: width - 2 * MARGIN, height: width - 2 * MARGIN }),
      sw.sides.map((side) => {
        const line = places.filter((p) => p.side === side).map(put);
        return line.length > 1 ? sw.svg("path", { class: "gap", d: sw.path(line, (p) => p.x, (p) => p.y) }) : "";
      }),
      Object.entries(tile.corners).map(([name, c]) => {
        const east = name.endsWith("E"), south = name.startsWith("S");
        return sw.isNumber(c.angle_deg) ? sw.svg("text", { x: width / 2 + (east ? 1 : -1) * (width / 2 - MARGIN - 22), y: width / 2 + (south ? 1 : -1) * (width / 2 - MARGIN - 26) + 4,
          "text-anchor": east ? "end" : "start" }, sw.figure(c.angle_deg, c.u95_deg) + "°") : "";
      }), mark,
    ]);
    let chosen = 0;
    const choose = (k) => {
      if (!places.length) return;
      chosen = (k + places.length) % places.length;
      const p = places[chosen], q = put(p);
      fillMark(mark, q);
      reading.textContent = `${tile.name} ${p.side}, ${p.at.toFixed(0)} mm: ${Math.abs(p.proud).toFixed(2)} mm ${p.proud >= 0 ? "proud" : "shy"}${p.state === "chip" ? " (chip)" : ""}`;
    };
    const nearest = (e) => {
      const box = svg.getBoundingClientRect(), x = e.clientX - box.left, y = e.clientY - box.top;
      let best = 0, least = Infinity;
      places.forEach((p, k) => {
        const q = put(p), far = Math.hypot(q.x - x, q.y - y);
        if (far < least) [best, least] = [k, far];
      });
      choose(best);
    };
    svg.addEventListener("pointerdown", nearest);
    svg.addEventListener("keydown", (e) => {
      const step = { ArrowLeft: -1, ArrowRight: 1, PageUp: -20, PageDown: 20 }[e.key];
      if (!step) return;
      e.preventDefault();
      choose(chosen + step);
    });
    holder.replaceChildren(svg);
  });
  return [holder, reading];
}
function fillMark(mark, q) {
  mark.setAttribute("cx", q.x);
  mark.setAttribute("cy", q.y);
  mark.setAttribute("display", "inline");
}

/* How many times errors are drawn larger: the worst of all tiles reaches some 12 % of a side. */
function times(tiles) {
  let worst = 0.05;
  tiles.forEach((tile) => sw.sides.forEach((side) => sw.edgePlaces(tile, side).forEach((p) => {
    if (p.state === "ok") worst = Math.max(worst, Math.abs(p.proud));
  })));
  const raw = 0.12 * sw.inspection.table.tile_mm / worst;
  return [100, 50, 20, 10, 5, 2, 1].find((k) => k <= raw) || 1;
}

sw.tileOutlines = () => sw.inspection.tiles.length && sw.folded("tiles", (box) => {
  const tiles = sw.inspection.tiles, larger = times(tiles), grid = sw.el("div", { class: "grid" });
  box.append(sw.el("p", {}, `Each tile against its own best square (dashed); errors are drawn ${larger} times larger.`), grid);
  tiles.forEach((tile) => grid.append(sw.el("figure", {}, [sw.el("h3", {}, tile.name), outline(tile, larger),
    sw.table(["Edge", "Length, mm", "Straight to, mm"], sw.sides.map((side) => {
      const e = tile.edges[side];
      return [side, sw.figure(e.length_mm, e.length_u95_mm, 1), sw.figure(e.straightness_mm, e.straightness_u95_mm)];
    }), [1, 2])])));
});

sw.heights = () => {
  const ins = sw.inspection, known = ins.tiles.filter((tile) => sw.isNumber(tile.height_mm));
  if (known.length < 2) return;
  sw.folded("heights", (box) => {
    const most = Math.max(0.3, ...known.map((tile) => Math.abs(tile.height_mm)));
    const grid = sw.el("div", { class: "tiles-grid", style: `grid-template-columns:repeat(${ins.table.columns},minmax(0,1fr))` });
    const reading = sw.el("p", { class: "reading", "aria-live": "polite" }, "Tap a tile for its figure.");
    ins.tiles.forEach((tile) => {
      const is = sw.isNumber(tile.height_mm), surely = is && Math.abs(tile.height_mm) > (tile.height_u95_mm || 0);
      const depth = surely ? sw.clamp(Math.ceil(3 * Math.abs(tile.height_mm) / most), 1, 3) : 0, low = surely && tile.height_mm < 0;
      const says = is ? `${tile.name} stands ${sw.figure(tile.height_mm, tile.height_u95_mm)} mm against the middle top` + (sw.isNumber(tile.tilt_deg) ? `, slants ${sw.figure(tile.tilt_deg, tile.tilt_u95_deg)}°` : "") : `${tile.name}: height not known`;
      grid.append(sw.el("button", { type: "button", class: low ? "low" : null, "aria-label": says,
        style: depth ? `background-color:var(--${low ? "low" : "high"}-${depth})` : null, onclick: () => (reading.textContent = says + ".") },
        [tile.name, sw.el("small", {}, is ? (surely ? sw.signed(tile.height_mm, 1) + " mm" : "level") : "not known")]));
    });
    box.append(...sw.data.says.tops.map((text) => sw.el("p", {}, text)), sw.el("p", {}, "Against the middle one of all tops: orange stands higher, blue and hatched lower."), grid, reading);
    const steps = ins.seams.filter((seam) => sw.isNumber(seam.step_mm));
    if (steps.length) box.append(sw.table(["Seam", "First above second, mm", "Largest, mm"], steps.map((seam) => [seam.name, sw.figure(seam.step_mm, seam.step_u95_mm), sw.fixed(seam.step_largest_mm, 2)]), [1, 2]));
  });
};

sw.marks = () => {
  const marks = sw.inspection.marks || [];
  if (!marks.length) return;
  sw.folded("marks", (box) => {
    const meet = marks.filter((mark) => sw.isNumber(mark.step_mm)), seams = [...new Set(meet.map((mark) => mark.seam))];
    const reach = Math.max(0.5, ...marks.map((mark) => Math.abs(mark.from_half_mm) + (mark.u95_mm || 0)));
    box.append(sw.el("p", {}, "How far each mark lies from half-way between its edge's corners, and how far the two marks of a seam miss each other. + is towards the south or east end."));
    if (seams.length) box.append(sw.table(["Seam", "Marks miss by, mm", "What to do"], seams.map((name) => {
      const mark = meet.find((one) => one.seam === name), said = sw.data.says.marks.find((one) => one.seam === name);
      return [name, sw.isNumber(mark.step_mm) ? sw.signed(mark.step_mm) + "\u00a0±\u00a0" + sw.fixed(mark.step_u95_mm, 2) : "?", said ? said.text : ""];
    }), [1]));
    const holder = sw.el("div", {}), reading = sw.el("p", { class: "reading", "aria-live": "polite" }, "Tap a mark for its figure.");
    box.append(holder, reading);
    sw.fit(holder, (width) => {
      const LEFT = 84, ROW = 30, x = (v) => LEFT + (width - LEFT - 12) * (v + reach) / (2 * reach), height = marks.length * ROW + 26;
      holder.replaceChildren(sw.svg("svg", { class: "plot", viewBox: `0 0 ${width} ${height}`, height, "font-size": 13, role: "group", "aria-label": "Marks against half-way" }, [
        sw.svg("path", { class: "limit", d: `M${x(0)} 4V${height - 22}` }),
        sw.svg("text", { x: x(0), y: height - 6, "text-anchor": "middle" }, "half-way"),
        marks.map((mark, k) => {
          const y = 14 + k * ROW, says = `${mark.edge}: ${sw.signed(mark.from_half_mm)} ± ${sw.fixed(mark.u95_mm, 2)} mm from half-way`;
          const row = sw.svg("g", { tabindex: 0, role: "button", "aria-label": says, style: "cursor:pointer" }, [
            sw.svg("rect", { x: 0, y: y - ROW / 2, width, height: ROW, fill: "transparent" }),
            sw.svg("text", { x: 2, y: y + 4.5 }, mark.edge),
            sw.svg("path", { class: "gap", d: `M${x(mark.from_half_mm - mark.u95_mm)} ${y}H${x(mark.from_half_mm + mark.u95_mm)}` }),
            sw.svg("circle", { cx: x(mark.from_half_mm), cy: y, r: 5, fill: "currentColor" })]);
          const say = () => (reading.textContent = says);
          row.addEventListener("click", say);
          row.addEventListener("focus", say);
          return row;
        }),
      ]));
    });
  });
};
