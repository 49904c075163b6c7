/* limit.js - the program's rule for a verdict, at any limit (src/seam/verdict.c, and heed_hidden in src/tile/seams.c); a test
 * holds the two against each other. */
"use strict";

const guard = sw.data.guard || {};

sw.verdictOf = (gap, u95, limit) => {
  if (!sw.isNumber(gap) || !(u95 >= 0)) return "too close to call";
  if (gap <= limit - guard.share * u95) return "within";
  if (gap >= limit + guard.share * u95) return "over";
  return "too close to call";
};

/* How wide the gap may be where it was not seen: as between the places beside it, and farther from them edges wander. */
function hiddenMost(stations) {
  const { at_mm: at, gap_mm: gap, u95_mm: u95, state } = stations, count = at.length, before = [], after = [];
  for (let k = 0, last = -1; k < count; k++) before.push((last = state[k] === "ok" ? k : last));
  for (let k = count - 1, last = -1; k >= 0; k--) after[k] = last = state[k] === "ok" ? k : last;
  let most = 0;
  for (let k = 0; k < count; k++) {
    const a = before[k], b = after[k];
    if (state[k] !== "unseen" || (a < 0 && b < 0)) continue;
    const from = a < 0 ? b : a, to = b < 0 ? a : b, span = at[to] - at[from], part = span > 0 ? (at[k] - at[from]) / span : 0;
    const off = Math.min(a < 0 ? Infinity : at[k] - at[a], b < 0 ? Infinity : at[b] - at[k]);
    const middle = (1 - part) * gap[from] + part * gap[to], wide = Math.max(u95[from], u95[to]);
    most = Math.max(most, middle + guard.share * Math.hypot(wide, 2 * guard.wander * Math.max(0, off - guard.wander_from_mm)));
  }
  return most;
}

const seen = new WeakMap();
/* What of a seam does not hang on the limit: its widest place that counts, and how wide it may be where it was not seen. */
function widest(seam) {
  if (!seen.has(seam)) {
    const s = seam.stations, one = { gap: null, u95: null, hidden: 0 };
    s.state.forEach((state, k) => {
      if (state === "ok" && (one.gap === null || s.gap_mm[k] > one.gap)) Object.assign(one, { gap: s.gap_mm[k], u95: s.u95_mm[k] });
    });
    if (one.gap === null) Object.assign(one, { gap: seam.gap_mm.max, u95: seam.gap_mm.max_u95 });
    else one.hidden = hiddenMost(s);
    seen.set(seam, one);
  }
  return seen.get(seam);
}

/* The verdict on a seam at a limit. */
sw.verdictAt = (seam, limit) => {
  if (limit === sw.inspection.tolerance_mm && seam.verdict) return seam.verdict;
  const one = widest(seam), first = sw.verdictOf(one.gap, one.u95, limit);
  const reach = sw.isNumber(one.gap) ? (one.hidden - one.gap) / guard.share : 0;
  return first === "within" && reach > one.u95 ? sw.verdictOf(one.gap, reach, limit) : first;
};
sw.verdictNow = (seam) => sw.verdictAt(seam, sw.limit);

/* How many seams of each verdict at a limit. */
sw.countAt = (seams, limit) => {
  const count = { over: 0, "too close to call": 0, within: 0 };
  seams.forEach((seam) => count[sw.verdictAt(seam, limit)]++);
  return count;
};

/* All seams, those over first, then by their widest gap; one that was not seen at all stands last. */
sw.worstFirst = () => {
  const rank = { over: 0, "too close to call": 1, within: 2 };
  const width = (seam) => (sw.isNumber(seam.gap_mm.max) ? seam.gap_mm.max : -1);
  return [...sw.inspection.seams].sort((a, b) => rank[sw.verdictNow(a)] - rank[sw.verdictNow(b)] || width(b) - width(a));
};
