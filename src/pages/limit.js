/* limit.js - the program's rule for a verdict, at any limit (sw_seam_verdict_at in src/seam/verdict.c); a test holds the two
 * against each other. */
"use strict";

const guard = sw.data.guard || {};

sw.verdictOf = (gap, u95, limit) => {
  if (!sw.isNumber(gap) || !(u95 >= 0)) return "too close to call";
  if (gap <= limit - guard.share * u95) return "within";
  if (gap >= limit + guard.share * u95) return "over";
  return "too close to call";
};

/* The verdict on a seam at a limit: on its widest place that counts; one that is within must be so where it was not seen, too. */
sw.verdictAt = (seam, limit) => {
  if (limit === sw.inspection.tolerance_mm && seam.verdict) return seam.verdict;
  const one = guard.seams[sw.inspection.seams.indexOf(seam)], first = sw.verdictOf(one.max_mm, one.u95_mm, limit);
  const reach = sw.isNumber(one.max_mm) ? (one.hidden_mm - one.max_mm) / guard.share : 0;
  return first === "within" && reach > one.u95_mm ? sw.verdictOf(one.max_mm, reach, limit) : first;
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
