/* main.js - puts the page together. */
"use strict";

(() => {
  const ins = sw.inspection, glass = sw.byId("glass"), lines = sw.byId("lines");
  if (lines) sw.workList(lines);
  if (ins) {
    if (glass) sw.tablePicture(glass);
    sw.widestPlaces(sw.byId("places"), sw.byId("crops"));
    sw.rounds(sw.byId("rounds"), sw.byId("rounds-in"));
    sw.tryLimit(sw.byId("try"), sw.byId("try-in"));
    sw.allSeams();
    sw.changes();
    sw.planEdges();
    sw.arrangement();
    sw.tileOutlines();
    sw.heights();
    sw.marks();
    sw.trust();
  }
  /* The part that the page was written for stands open. */
  const parts = { plan: "edges", comparison: "changes", arrangement: "layout" };
  const open = parts[sw.data.open] && sw.byId(parts[sw.data.open]);
  if (open && !open.hidden) open.open = true;
  /* A link into a folded part opens it. */
  const unfold = () => {
    const part = location.hash.length > 1 && sw.byId(decodeURIComponent(location.hash.slice(1)));
    if (part && part.tagName === "DETAILS") part.open = true;
  };
  addEventListener("hashchange", unfold);
  document.addEventListener("click", (e) => {
    const link = e.target.closest("a[href^='#']"), part = link && sw.byId(link.getAttribute("href").slice(1));
    if (part && part.tagName === "DETAILS") part.open = true;
  });
  unfold();
  document.documentElement.dataset.ready = "yes";
})();
