/* base.js - the page's data, and making elements of it. What comes from a file goes in as text, never as markup. */
"use strict";
const sw = {};

sw.data = JSON.parse(document.getElementById("data").textContent);
sw.inspection = sw.data.inspection;
/* The limit that the page shows verdicts for: the program's, until the reader tries another. */
sw.limit = sw.inspection ? sw.inspection.tolerance_mm : 0.5;

const SVG = "http://www.w3.org/2000/svg";

function fill(node, attributes, children) {
  for (const [name, value] of Object.entries(attributes || {})) {
    if (value === null || value === undefined || value === false) continue;
    if (name.startsWith("on")) node.addEventListener(name.slice(2), value);
    else node.setAttribute(name, value === true ? "" : value);
  }
  for (const child of [children].flat(9))
    if (child !== null && child !== undefined && child !== false && child !== "") node.append(child);
  return node;
}

/* An element with its attributes ("on..." are listeners) and children (texts, elements, lists of them). */
sw.el = (name, attributes, children) => fill(document.createElement(name), attributes, children);
sw.svg = (name, attributes, children) => fill(document.createElementNS(SVG, name), attributes, children);
sw.byId = (id) => document.getElementById(id);

sw.isNumber = (x) => typeof x === "number" && isFinite(x);
sw.fixed = (x, digits) => (sw.isNumber(x) ? x.toFixed(digits) : "?");
/* "1.87 ± 0.11", kept on one line; "not seen". */
sw.figure = (x, u95, digits = 2) =>
  !sw.isNumber(x) ? "not seen" : sw.fixed(x, digits) + (sw.isNumber(u95) ? "\u00a0±\u00a0" + u95.toFixed(digits) : "");
sw.signed = (x, digits = 2) => (x > 0 ? "+" : x < 0 ? "\u2212" : "") + Math.abs(x).toFixed(digits);

/* Whole mm as the program says them: halves go to the even one. */
sw.whole = (x) => (x % 1 === 0.5 ? String(2 * Math.round(x / 2)) : x.toFixed(0));

/* A verdict's class: what colour, sign and hatching it has. */
sw.classOf = (verdict) => ({ over: "over", within: "within", "too close to call": "close" })[verdict] || "none";
sw.sign = (verdict) =>
  sw.svg("svg", { class: "sign " + sw.classOf(verdict), role: "img", "aria-label": verdict }, sw.svg("use", { href: "#sign-" + sw.classOf(verdict) }));

sw.clamp = (x, low, high) => Math.max(low, Math.min(high, x));

/* Nice steps for an axis: 1, 2 or 5 times a power of ten, at most `most` of them. */
sw.step = (span, most) => {
  const raw = span / most, ten = 10 ** Math.floor(Math.log10(raw));
  return [1, 2, 5, 10].map((k) => k * ten).find((step) => step >= raw);
};

/* A table: heads and rows of texts or elements; columns named in `figures` are set right. */
sw.table = (heads, rows, figures = []) => {
  const cell = (tag) => (content, i) => sw.el(tag, { class: figures.includes(i) ? "figure" : null, scope: tag === "th" ? "col" : null }, content);
  return sw.el("div", { class: "scroll" }, sw.el("table", {}, [
    sw.el("thead", {}, sw.el("tr", {}, heads.map(cell("th")))),
    sw.el("tbody", {}, rows.map((row) => sw.el("tr", {}, row.map(cell("td"))))),
  ]));
};

/* Shows a folded part and lets it be made when it is first opened: nobody waits for what nobody looks at. */
sw.folded = (id, make) => {
  const part = sw.byId(id);
  let made = false;
  part.hidden = false;
  const open = () => {
    if (!part.open || made) return;
    made = true;
    make(part.querySelector(".in"));
  };
  part.addEventListener("toggle", open);
  open();
};

/* Calls draw(width) with the element's width in px, now and whenever it changes, so that text keeps its size. */
sw.fit = (node, draw) => {
  let last = 0;
  new ResizeObserver(() => {
    const width = Math.round(node.clientWidth);
    if (width > 0 && width !== last) draw((last = width));
  }).observe(node);
};

/* What the page tells its parts: "limit" when another one is tried. */
const listeners = {};
sw.on = (what, call) => (listeners[what] = listeners[what] || []).push(call);
sw.tell = (what) => (listeners[what] || []).forEach((call) => call());
