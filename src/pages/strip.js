/* strip.js - the photo along the seams: one picture holds a strip of each, left to right from its north or west end. */
"use strict";

/* A picture's data as an address that many elements can share without each holding it. */
function shared(img) {
  if (!img) return null;
  const [head, body] = img.src.split(",");
  const bytes = Uint8Array.from(atob(body), (c) => c.charCodeAt(0));
  return URL.createObjectURL(new Blob([bytes], { type: head.slice(5).split(";")[0] }));
}

const sources = {
  now: { of: sw.data.pictures.seams, href: shared(sw.byId("strips")), inspection: sw.inspection },
  before: { of: sw.data.pictures.before_seams, href: shared(sw.byId("before-strips")), inspection: sw.data.before },
};
sw.hasStrips = (when) => !!(sources[when].of && sources[when].href && sources[when].inspection);

/* The strips' picture where x is mm along the seam and y mm across it, downwards. */
function picture(source, index) {
  const p = source.of;
  return sw.svg("image", { href: source.href, x: p.from_mm, y: -(index + 0.5) * p.across_mm, width: p.width_px / p.px_per_mm,
    height: p.height_px / p.px_per_mm, preserveAspectRatio: "none" });
}

function lines(source, seam, from, to) {
  return sw.rimsOf(source.inspection, seam).map((rim, i) => {
    const part = rim.filter((p) => p.at > from && p.at < to);
    return part.length > 1 && sw.svg("path", { class: "line " + (i ? "second" : "first"), d: sw.path(part, (p) => p.at, (p) => -p.off) });
  });
}

/* The middle of the gap at a place, across the seam. */
function middle(source, seam, at) {
  const near = (rim) => rim.reduce((best, p) => (!best || Math.abs(p.at - at) < Math.abs(best.at - at) ? p : best), null);
  const found = sw.rimsOf(source.inspection, seam).map(near).filter((p) => p && Math.abs(p.at - at) < 5);
  return found.length ? found.reduce((sum, p) => sum + p.off, 0) / found.length : 0;
}

/* A window of `mm` by `mm` about a place of a seam, turned as in the photo, with both rims and a bar of 1 mm. */
sw.crop = (when, index, at, mm = 12) => {
  const source = sources[when], seam = source.inspection.seams[index], off = sw.clamp(middle(source, seam, at), -3, 3);
  const width = Math.min(mm, source.of.across_mm - 2 * Math.abs(off)), half = width / 2;
  const x = seam.upright ? off : at, y = seam.upright ? at : -off;
  const turned = sw.svg("g", { transform: seam.upright ? "matrix(0 1 -1 0 0 0)" : null },
    [picture(source, index), lines(source, seam, at - half, at + half)]);
  const word = sw.svg("text", { "font-size": 13, "stroke-width": 3 }, "1 mm"), bar = width / 14, left = x - half + bar, low = y + half - bar;
  const svg = sw.svg("svg", { viewBox: `${x - half} ${y - half} ${width} ${width}`, role: "img",
    "aria-label": `${seam.name} at ${at.toFixed(0)} mm: ${sw.figure(gapAt(seam, at).gap, gapAt(seam, at).u95)} mm` }, [
    turned,
    sw.svg("g", { class: "bar" }, [sw.svg("path", { d: `M${left} ${low}h1` }), sw.svg("path", { class: "over-it", d: `M${left} ${low}h1` }), word]),
  ]);
  sw.fit(svg, (px) => word.setAttribute("transform", `translate(${left + 1} ${low}) scale(${width / px}) translate(5 4.5)`));
  return svg;
};

/* The figures of the station nearest to a place. */
function gapAt(seam, at) {
  const s = seam.stations;
  let best = 0;
  s.at_mm.forEach((place, k) => {
    if (Math.abs(place - at) < Math.abs(s.at_mm[best] - at)) best = k;
  });
  return { at: s.at_mm[best], gap: s.gap_mm[best], u95: s.u95_mm[best], state: s.state[best] };
}
sw.gapAt = gapAt;

/* The whole seam in one strip, drawn wider across so that a gap shows: `reach` mm to each side. */
sw.strip = (when, index, reach) => {
  const source = sources[when], seam = source.inspection.seams[index];
  return sw.svg("svg", { class: "strip", viewBox: `0 ${-reach} ${seam.length_mm} ${2 * reach}`, preserveAspectRatio: "none",
    role: "img", "aria-label": "The photo along " + seam.name }, picture(source, index));
};
