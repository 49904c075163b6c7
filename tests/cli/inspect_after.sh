# seamwright inspect --after: a second round is one command. What it takes from the earlier inspection, the comparison in
# what is printed and in the report, the count of rounds, and what it refuses.
. "$2/tests/cli/tools/check.sh"
before=$source/samples/valley-north.jpg after=$source/samples/valley-north-sanded.jpg

# A lens like that of the samples' camera; covariance unknown.
zeros='[0,0,0,0,0,0,0,0,0]'
cat >phone.lens.json <<EOF
{ "format": "seamwright-lens", "format_version": 1, "source": "profile", "camera": "", "width_px": 3264, "height_px": 2448,
  "photos": 8, "focal_mm": 0, "fx_px": 2600, "fy_px": 2600, "cx_px": 1631.5, "cy_px": 1223.5, "k1": -0.0546875, "k2": 0.0390625,
  "p1": 0, "p2": 0, "k3": -0.0078125, "residual_px": 0.01, "covered": 0.7, "square_mm": 25,
  "covariance": [$zeros,$zeros,$zeros,$zeros,$zeros,$zeros,$zeros,$zeros,$zeros] }
EOF

# Whatever was said for the first photo holds for the second, so that it comes out as if all were said again; the lens is
# in the inspection, the profile itself may be gone.
said="--reference 100.1/60.1 --card-thickness 0.4 --tile 300 --tolerance 0.45 --lippage 1 --height 45,B2=45.2"
run 1 inspect "$before" $said --lens phone.lens.json --no-pictures --step 1 -o first.seams
run 1 inspect "$after" $said --lens phone.lens.json --no-pictures --step 1 -o alone.seams
rm phone.lens.json
run 1 inspect "$after" --after first.seams --no-pictures --step 1 -o second.seams
sed '/"after": {/,/^ },$/d' second.seams/inspection.json | cmp -s - alone.seams/inspection.json ||
    fail "the second inspection differs from one that was told all"
grep -q '"k1": -0.0546875,' second.seams/inspection.json || fail "no lens in the inspection"
grep -q '"inspection": "first.seams"' second.seams/inspection.json || fail "the earlier inspection is not named"
[ "$(ls -A second.seams | tr '\n' ' ')" = "edges.csv inspection.json recheck.json seams.csv " ] ||
    fail "second.seams holds $(ls -A second.seams)"
prints "Seams over: 8 -> 0"
prints "(before: 8)"
# ... unless it is said anew.
run 0 inspect "$after" --after first.seams --tolerance 0.8 --no-pictures --step 1 -o wide.seams
grep -q '"tolerance_mm": 0.8,' wide.seams/inspection.json || fail "the tolerance was not taken from the command line"
prints "Within: every seam is within 0.80 mm (over before: "

# The plan beside the earlier inspection is the plan that was carried out; a slash at the folder's end does not matter.
"$program" plan first.seams >"$results/out" 2>&1
[ -s first.seams/plan.json ] || fail "no plan"
run 1 inspect "$after" --after first.seams/ --step 1 -o third.seams
prints "  edge       planned  came off"
rounds='"rounds":[{"photo":"valley-north.jpg","over":8,"close":0,"within":4,"limit_mm":0.45},{"photo":"valley-north-sanded.jpg","over":0,'
for page in report recheck; do
    knows third.seams/$page.html "$rounds"
    knows third.seams/$page.html '"format":"seamwright-recheck"'
done
tr -d ' \n' <third.seams/recheck.json | grep -qF "$rounds" || fail "recheck.json does not count the rounds"
[ "$(ls -A third.seams | tr '\n' ' ')" = "edges.csv inspection.json overlay.png recheck.html recheck.json report.html \
seams.csv seams.jpg table.jpg " ] || fail "third.seams holds $(ls -A third.seams)"
alone third.seams/report.html

# A chain of rounds; the card as it was in the first.
run 1 inspect "$after" --after second.seams --no-pictures --step 1 -o fourth.seams
prints "Seams over: 8 -> 0 -> 0"
run 1 inspect "$before" --after fourth.seams -t 0.3 --no-pictures --step 1 -o fifth.seams
prints "Seams over: 8 (over 0.45 mm) -> 0 (over 0.45 mm) -> "
grep -q '"reference": "100.1/60.1"' fifth.seams/inspection.json || fail "the card was forgotten"
grep -q '"card_thickness_mm": 0.4,' fifth.seams/inspection.json || fail "the card's thickness was forgotten"
run 1 recheck second.seams fifth.seams -o again
prints "Seams over: "

# A file of an older version says less: the lens is worked out, and a note says why.
mkdir old.seams
sed '/"given": {/,/^ },$/d' first.seams/inspection.json >old.seams/inspection.json
! grep -q "\"given\"" old.seams/inspection.json || fail "old.seams is not as it was in older versions"
run 1 inspect "$after" --after old.seams --no-pictures --step 1 -o aged.seams
says "lens profile that its file does not hold"
grep -q '"lens": "estimated"' aged.seams/inspection.json || fail "a lens from nowhere"
# Another camera: its lens is worked out.
refuse "not 300 mm; is the reference square" inspect "$source/samples/ferry-1.jpg" --after first.seams -r 80/48
refuse "9 tiles and the later one 4; both must show the same tiles" \
    inspect "$source/samples/ferry-1.jpg" --after first.seams -r 80/48 --tile 200 --height 45

# What cannot be: said before anything is measured, and nothing is written.
mkdir empty
echo "{}" >strange.json
refuse "none.seams: cannot be opened" inspect "$after" --after none.seams -o out
refuse "empty/inspection.json: cannot be opened" inspect "$after" --after empty -o out
refuse "strange.json: " inspect "$after" --after strange.json -o out
refuse "--after needs a value" inspect "$after" --after
refuse "first.seams: the results would take the earlier inspection's place" inspect "$after" --after first.seams -o first.seams
refuse "name it with --after" inspect "$after" --layout "A1" -o out
refuse "--layout: " inspect "$after" --after first.seams --layout "A1 B1" -o out
cp -r first.seams spoilt.seams
echo "{" >spoilt.seams/plan.json
refuse "spoilt.seams/plan.json" inspect "$after" --after spoilt.seams -o out
finish
