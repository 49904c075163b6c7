# seamwright recheck on the pair of samples that shows a table before and after sanding: what is printed and written, exit
# statuses 0, 1 and 2, and everything it refuses. Inspected once, at 2 mm and without pictures.
. "$2/tests/cli/tools/check.sh"

run 1 inspect "$source/samples/valley-north.jpg" --step 2 --no-pictures -o before.seams
run 1 inspect "$source/samples/valley-north-sanded.jpg" --step 2 --no-pictures -o after.seams

# 0.42, 0.39 and 0.36 mm are left at most (samples/valley-north-sanded.truth.json): the widest too close to 0.45 to call, over 0.3;
# within 0.8.
run 1 recheck before.seams after.seams -t 0.45
says_nothing
prints "No seam is surely over 0.45 mm any more (before: 8); too close to call: "
prints "Next: Stop here"
prints "Sand no more"
prints "Report: after.seams/recheck.html"
run 0 recheck before.seams after.seams -t 0.8
prints "Within: every seam is within 0.80 mm"
prints "Stop here: every seam is within 0.80 mm. Take nothing more off any edge."
! grep -q "FFP3" "$results/out" || fail "$what: cautions for sanding where nothing is to be sanded"
run 1 recheck before.seams/inspection.json after.seams/inspection.json --tolerance=0.3
prints "still open by more than 0.30 mm (before: 8)"
prints "FFP3"
[ -s after.seams/inspection.json ] && [ -s after.seams/seams.csv ] || fail "$what: took away what lay there"

# Elsewhere, a folder that is made; twice over.
run 1 recheck before.seams after.seams -o new
run 1 recheck before.seams after.seams -o new/
[ "$(ls -A new | tr '\n' ' ')" = "recheck.html recheck.json " ] || fail "$what: new holds $(ls -A new)"
grep -q '"format": "seamwright-recheck"' new/recheck.json || fail "$what: no recheck.json"
alone new/recheck.html
knows new/recheck.html '{"open":"comparison",'

# Off A2 came what its east side lost: the true figure, 20 to 40 mm from its south end, is 1.0 mm (tests/study/removed.py score).
mean=$(sed -n 's/.*"with_opposite_mm": \([0-9.]*\).*/\1/p' new/recheck.json | awk '{ s += $1 } END { printf "%.2f", s / NR }')
awk -v m="$mean" 'BEGIN { exit !(m > 0.9 && m < 1.4) }' || fail "$what: $mean mm came off opposite edges on the mean"

# With a plan: edges planned, and what came of it.
cat >plan.json <<'END'
{ "format": "seamwright-plan", "format_version": 1, "for": "layout", "tolerance_mm": 0.5,
  "edges": [ { "edge": "A1 east", "true_up": [ { "at_mm": 0, "remove_mm": 6 }, { "at_mm": 300, "remove_mm": 0 } ],
               "bevel_mm": 0.0, "bevel_deg": 0.0, "why": "made up" } ],
  "seams": [], "common_tile_mm": null, "removed_total_mm2": 900, "cannot": [] }
END
run 1 recheck before.seams after.seams --plan plan.json -t 0.25 -o planned
prints "planned"
prints "A1 east    6.00"
prints "not enough yet"
prints "Next: Go on with the plan: "
prints "mm came off A1 east where 6.00 mm should"
prints "Not in the plan, yet something came off: A2 east"

# The same tiles in another order: told by --layout. An inspection against itself: nothing came off.
run 1 recheck before.seams before.seams -o same
prints "Nothing came off any edge"
run 1 recheck before.seams after.seams -o moved --layout "A1 B1 C1 / A2 B2 C2 / A3 B3 C3"
run 1 recheck before.seams before.seams -o moved --layout "C1 B1 A1 / A2 B2h C2 / A3 B3 C3"
prints "new"

# What is refused; a refusal leaves nothing behind.
refuse "name two inspections" recheck
refuse "name two inspections" recheck before.seams
refuse "name two inspections" recheck before.seams after.seams after.seams
refuse "none.json: cannot be opened" recheck none.json after.seams
refuse "plan.json: not an inspection" recheck before.seams plan.json
refuse "after.seams/inspection.json: is no plan" recheck before.seams after.seams --plan after.seams/inspection.json
refuse "--layout" recheck before.seams after.seams --layout "A1 B1"
refuse "--tolerance 0: " recheck before.seams after.seams --tolerance 0
refuse "name a folder" recheck before.seams after.seams -o ""
for option in --plan --layout --tolerance --output -t -o; do
    refuse "$option needs a value" recheck before.seams after.seams $option
done
# Another table of as many tiles, and a plan made from another inspection, even of the same photo.
"$program" inspect "$source/samples/orchard.jpg" --step 2 --no-pictures -o orchard.seams >/dev/null 2>&1
"$program" inspect "$source/samples/valley-north.jpg" --step 3 --no-pictures -o again.seams >/dev/null 2>&1
"$program" plan again.seams >/dev/null 2>&1
refuse "plan.json: it was made from another inspection" recheck before.seams after.seams --plan again.seams/plan.json
run 1 recheck again.seams after.seams --plan again.seams/plan.json -o planned
# The same table photographed from another side is known again.
for n in 1 3; do
    "$program" inspect "$source/samples/ferry-$n.jpg" --step 2 --no-pictures -o ferry-$n.seams >/dev/null 2>&1
done
run 1 recheck ferry-1.seams ferry-3.seams
prints "The later photo shows the table turned by a quarter"
prints "Nothing came off any edge"
refuse "ferry-1.seams/inspection.json: these are not the same tiles: " recheck orchard.seams ferry-1.seams
refuse "ferry-1.jpg: these are not the same tiles: " inspect "$source/samples/ferry-1.jpg" --step 2 --no-pictures \
    --after orchard.seams -o next.seams

head -c 3000 after.seams/inspection.json >cut.json
refuse "cut.json: not well-formed JSON" recheck before.seams cut.json
echo mine >file
refuse "file: there is a file of this name" recheck before.seams after.seams -o file
mkdir full
echo mine >full/recheck.html
refuse "full/recheck.html: was not written by recheck and is left alone" recheck before.seams after.seams -o full
refuse "none/new: cannot be written" recheck before.seams after.seams -o none/new
finish
