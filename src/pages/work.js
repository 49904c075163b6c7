/* work.js - the list of work: three lines open, boxes to tick that last on this device, and what another limit spares. */
"use strict";

const OPEN_LINES = 3;

/* Ticks are kept for one plan: another photo or another list begins anew. */
function memory() {
  const says = sw.data.says, key = "work " + (says.photo || "") + " " + says.work.map((line) => line.seam + line.do).join("|");
  let hash = 5381;
  for (const c of key) hash = ((hash * 33) ^ c.codePointAt(0)) >>> 0;
  const name = "seamwright-done-" + hash.toString(36);
  return {
    read: () => {
      try {
        return new Set(JSON.parse(localStorage.getItem(name) || "[]"));
      } catch {
        return new Set();
      }
    },
    write: (done) => {
      try {
        localStorage.setItem(name, JSON.stringify([...done]));
      } catch {
        /* no room, or not allowed: ticks last as long as the page is open */
      }
    },
  };
}

sw.workList = (list) => {
  const lines = [...list.children], kept = memory(), done = kept.read();
  lines.forEach((line) => {
    const rank = line.dataset.rank, index = sw.inspection ? sw.inspection.seams.findIndex((seam) => seam.name === line.dataset.seam) : -1;
    const box = sw.el("input", { type: "checkbox" });
    const set = () => line.classList.toggle("done", box.checked);
    box.checked = done.has(rank);
    box.addEventListener("change", () => {
      done[box.checked ? "add" : "delete"](rank);
      kept.write(done);
      set();
    });
    set();
    line.append(sw.el("div", { class: "row" }, [sw.el("label", {}, [box, "Done"]),
      index >= 0 && sw.el("button", { type: "button", class: "link", onclick: () => sw.openSeam(index) }, "Look at " + line.dataset.seam)]),
      sw.el("p", { class: "flag", hidden: true }));
  });
  if (lines.length > OPEN_LINES) {
    const rest = lines.length - OPEN_LINES, more = sw.el("ol", { class: "lines" }), fold = sw.el("details", {}, [sw.el("summary", {}, rest === 1 ? "One more line" : rest + " more lines"), more]);
    fold.id = "lines-more";
    more.style.counterReset = "line " + OPEN_LINES;
    more.append(...lines.slice(OPEN_LINES));
    list.after(fold);
    /* On paper the whole list. */
    let was = false;
    addEventListener("beforeprint", () => ([was, fold.open] = [fold.open, true]));
    addEventListener("afterprint", () => (fold.open = was));
  }
  const limit = () => lines.forEach((line) => {
    const seam = sw.inspection && sw.inspection.seams.find((one) => one.name === line.dataset.seam), flag = line.querySelector(".flag");
    const spared = seam && sw.limit !== sw.inspection.tolerance_mm && sw.verdictNow(seam) === "within";
    line.classList.toggle("spared", !!spared);
    flag.hidden = !spared;
    flag.textContent = spared ? `Not needed for ${sw.limit.toFixed(2)} mm: this seam is within it as it lies.` : "";
  });
  limit();
  sw.on("limit", limit);
};
