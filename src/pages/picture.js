/* picture.js - the table from straight above: the photo with thin rims, each seam's figure, and a glass to look closer.
 * In the picture x is mm to the east and y mm to the south. */
"use strict";

sw.tablePicture = (glass) => {
  const p = sw.data.pictures.table, ins = sw.inspection;
  const whole = { x: p.west_mm, y: -p.north_mm, w: p.width_px / p.px_per_mm, h: p.height_px / p.px_per_mm };
  const CLOSEST_MM = 6, STEP = 1.5;
  const view = { ...whole }, scaled = [];
  let bare = false;

  const image = glass.querySelector("img");
  const svg = sw.svg("svg", { class: "view", tabindex: 0, role: "group",
    "aria-label": "The table from straight above. Plus and minus zoom, arrows move, 0 shows all, L hides the lines; Tab goes from seam to seam." });
  svg.append(sw.svg("image", { href: image.src, x: whole.x, y: whole.y, width: whole.w, height: whole.h }));
  svg.append(rimLines(ins));
  ins.seams.forEach((seam, i) => svg.append(seamMark(seam, i)));
  ins.tiles.forEach((tile) => svg.append(tileName(tile)));
  image.replaceWith(svg);
  svg.style.aspectRatio = `${whole.w} / ${whole.h}`;

  /* What keeps its size on the screen: {node, x, y}. */
  function keeps(node, x, y) {
    scaled.push({ node, x, y });
    return node;
  }
  function rimLines(inspection) {
    const group = sw.svg("g", { "aria-hidden": "true" });
    inspection.tiles.forEach((tile) => sw.sides.forEach((side) => {
      const places = sw.edgePlaces(tile, side);
      if (places.length > 1) group.append(sw.svg("path", { class: "rim", d: sw.path(places, (q) => q.x, (q) => -q.y) }));
    }));
    return group;
  }
  function tileName(tile) {
    const text = sw.svg("text", { "font-size": 13 }, tile.name), width = 8 + 9 * tile.name.length;
    return keeps(sw.svg("g", { class: "name" }, [sw.svg("rect", { x: -width / 2, y: -10, width, height: 20, rx: 2 }), text]),
      ...Object.values(sw.middleOf(ins, tile)));
  }
  function seamMark(seam, i) {
    const frame = sw.frameOf(seam), paths = sw.rimsOf(ins, seam).filter((rim) => rim.length > 1)
      .map((rim) => rim.map((q) => sw.outOfFrame(frame, q.at, q.off)));
    const ends = [sw.outOfFrame(frame, 0), sw.outOfFrame(frame, seam.length_mm)];
    const d = (points) => sw.path(points, (q) => q.x, (q) => -q.y), half = sw.outOfFrame(frame, seam.length_mm / 2);
    const group = sw.svg("g", { class: "seam", tabindex: 0, role: "button", "data-seam": i },
      [sw.svg("path", { class: "reach", d: d(ends) }), (paths.length ? paths : [ends]).map((line) => sw.svg("path", { class: "path", d: d(line) }))]);
    if (sw.isNumber(seam.gap_mm.max_at_mm)) {
      const at = sw.outOfFrame(frame, seam.gap_mm.max_at_mm);
      for (const under of [" under", ""])
        group.append(keeps(sw.svg("g", { class: "worst" }, sw.svg("circle", { class: "ring" + under, r: 8 })), at.x, -at.y));
    }
    group.append(keeps(sw.svg("g", { class: "tag" }), half.x, -half.y));
    group.addEventListener("keydown", (e) => {
      if (e.key !== "Enter" && e.key !== " ") return;
      e.preventDefault();
      sw.openSeam(i);
    });
    return group;
  }

  /* Verdicts and figures, for the limit shown and the room there is. */
  function dress() {
    const tile_px = ins.table.tile_mm / view.w * svg.clientWidth, width_px = svg.clientWidth;
    if (!width_px) return;
    const closed_below_mm = 0.005;
    ins.seams.forEach((seam, i) => {
      const verdict = sw.verdictNow(seam), group = svg.querySelector(`[data-seam="${i}"]`), tag = group.querySelector(".tag");
      const seen = sw.isNumber(seam.gap_mm.max), kind = seen ? sw.classOf(verdict) : "none";
      group.setAttribute("class", "seam " + kind);
      group.setAttribute("aria-label", `${seam.name}: ${sw.figure(seam.gap_mm.max, seam.gap_mm.max_u95)}${seen ? " mm, " + verdict : ""}`);
      group.querySelectorAll(".worst").forEach((ring) => ring.setAttribute("display", verdict === "within" || !(seam.gap_mm.max > closed_below_mm) ? "none" : "inline"));
      const roomy = tile_px > 95, signed = tile_px > 64;
      const text = !seen ? "?" : tile_px > 250 ? sw.figure(seam.gap_mm.max, seam.gap_mm.max_u95) : sw.fixed(seam.gap_mm.max, roomy ? 2 : 1);
      const left = signed && seen ? 15 : 0, width = left + 8 + 7.4 * text.length;
      tag.replaceChildren(
        sw.svg("rect", { x: -width / 2, y: -10, width, height: 20, rx: 2 }),
        left ? sw.svg("use", { href: "#sign-" + kind, x: -width / 2 + 4, y: -5.5, width: 11, height: 11 }) : "",
        sw.svg("text", { x: left / 2, y: 0.5, "font-size": 12.5 }, text));
      tag.setAttribute("display", tile_px < 34 ? "none" : "inline");
    });
  }
  function show() {
    view.w = sw.clamp(view.w, CLOSEST_MM, whole.w);
    view.h = view.w * whole.h / whole.w;
    view.x = sw.clamp(view.x, whole.x, whole.x + whole.w - view.w);
    view.y = sw.clamp(view.y, whole.y, whole.y + whole.h - view.h);
    svg.setAttribute("viewBox", `${view.x} ${view.y} ${view.w} ${view.h}`);
    const k = view.w / (svg.clientWidth || 400), near = view.w < whole.w * 0.999;
    scaled.forEach(({ node, x, y }) => node.setAttribute("transform", `translate(${x} ${y}) scale(${k})`));
    svg.setAttribute("class", "view" + (near ? " near" : "") + (bare ? " bare" : ""));
    dress();
  }
  /* times > 1: closer; about a place on the screen, else about the middle. */
  function zoom(times, client) {
    const box = svg.getBoundingClientRect();
    const sx = client ? (client.x - box.left) / box.width : 0.5, sy = client ? (client.y - box.top) / box.height : 0.5;
    const x = view.x + sx * view.w, y = view.y + sy * view.h, w = sw.clamp(view.w / times, CLOSEST_MM, whole.w);
    Object.assign(view, { x: x - sx * w, y: y - sy * w * whole.h / whole.w, w });
    show();
  }
  const near = () => view.w < whole.w * 0.999;
  const move = (dx, dy) => {
    view.x += dx * view.w;
    view.y += dy * view.h;
    show();
  };
  const all = () => {
    Object.assign(view, whole);
    show();
  };
  const lines = () => {
    bare = !bare;
    toggle.setAttribute("aria-pressed", bare);
    show();
  };

  svg.addEventListener("wheel", (e) => {
    if (!e.ctrlKey && !near() && document.activeElement !== svg) return; /* the page scrolls */
    if (!e.ctrlKey && !near() && e.deltaY > 0) return;
    e.preventDefault();
    zoom(Math.exp(-e.deltaY * 0.0016), { x: e.clientX, y: e.clientY });
  }, { passive: false });
  svg.addEventListener("keydown", (e) => {
    const keys = { "+": () => zoom(STEP), "=": () => zoom(STEP), "-": () => zoom(1 / STEP), 0: all, l: lines, L: lines, Home: all,
      ArrowLeft: () => move(-0.2, 0), ArrowRight: () => move(0.2, 0), ArrowUp: () => move(0, -0.2), ArrowDown: () => move(0, 0.2) };
    if (!keys[e.key] || e.ctrlKey || e.metaKey || e.altKey || (e.key.startsWith("Arrow") && !near())) return;
    e.preventDefault();
    keys[e.key]();
  });

  const fingers = new Map();
  let moved = 0;
  const spread = () => {
    const [a, b] = [...fingers.values()];
    return { x: (a.x + b.x) / 2, y: (a.y + b.y) / 2, wide: Math.hypot(a.x - b.x, a.y - b.y) || 1 };
  };
  svg.addEventListener("pointerdown", (e) => {
    if (fingers.size === 0) moved = 0;
    fingers.set(e.pointerId, { x: e.clientX, y: e.clientY });
  });
  svg.addEventListener("pointermove", (e) => {
    if (!fingers.has(e.pointerId)) return;
    const box = svg.getBoundingClientRect(), before = fingers.size === 2 ? spread() : fingers.get(e.pointerId);
    const old = fingers.get(e.pointerId);
    moved += Math.hypot(e.clientX - old.x, e.clientY - old.y);
    fingers.set(e.pointerId, { x: e.clientX, y: e.clientY });
    if (moved > 6 && !svg.hasPointerCapture(e.pointerId)) svg.setPointerCapture(e.pointerId);
    const after = fingers.size === 2 ? spread() : fingers.get(e.pointerId);
    if (fingers.size === 2) zoom(after.wide / before.wide, after);
    if (moved > 6 && (near() || fingers.size === 2)) move(-(after.x - before.x) / box.width, -(after.y - before.y) / box.height);
  });
  const lift = (e) => fingers.delete(e.pointerId);
  svg.addEventListener("pointerup", lift);
  svg.addEventListener("pointercancel", lift);
  svg.addEventListener("click", (e) => {
    const mark = e.target.closest(".seam");
    if (mark && moved <= 6) sw.openSeam(Number(mark.dataset.seam));
  });

  const toggle = sw.el("button", { type: "button", "aria-pressed": "false", onclick: lines }, "Lines");
  glass.after(sw.el("div", { class: "keys" }, [
    toggle,
    sw.el("button", { type: "button", "aria-label": "The whole table", onclick: all }, "All"),
    sw.el("button", { type: "button", "aria-label": "Farther", onclick: () => zoom(1 / STEP) }, "−"),
    sw.el("button", { type: "button", "aria-label": "Closer", onclick: () => zoom(STEP) }, "+"),
  ]));
  sw.byId("table-says").textContent = "Tap a seam to open it. Figures: its widest gap in mm; a ring: where that is. North is the top of the photo. Two fingers, the wheel or + and − bring it closer.";
  sw.fit(svg, show);
  sw.on("limit", show);
};

/* The three widest places that are not within, as the photo shows them. */
sw.widestPlaces = (part, box) => {
  const show = () => {
    const seams = sw.worstFirst().filter((seam) => sw.verdictNow(seam) !== "within" && sw.isNumber(seam.gap_mm.max_at_mm)).slice(0, 3);
    part.hidden = !seams.length || !sw.hasStrips("now");
    if (part.hidden) return;
    part.querySelector("h2").textContent = seams.length > 1 ? "The widest places" : "The widest place";
    box.replaceChildren(...seams.map((seam) => {
      const index = sw.inspection.seams.indexOf(seam);
      return sw.el("button", { type: "button", class: "crop " + sw.classOf(sw.verdictNow(seam)), onclick: () => sw.openSeam(index, seam.gap_mm.max_at_mm) },
        [sw.crop("now", index, seam.gap_mm.max_at_mm), sw.el("span", {}, [
          sw.el("b", {}, [sw.sign(sw.verdictNow(seam)), " " + seam.name]),
          sw.figure(seam.gap_mm.max, seam.gap_mm.max_u95) + "\u00a0mm, " + sw.whole(seam.gap_mm.max_at_mm) + " mm " + sw.fromEnd(seam)])]);
    }));
  };
  show();
  sw.on("limit", show);
};
