# seamwright plan: what it prints and writes, and everything it refuses; a refusal leaves nothing behind.
. "$2/tests/cli/tools/check.sh"

"$program" inspect "$source/samples/valley-north.jpg" -o table.seams --no-pictures >/dev/null 2>&1
[ -f table.seams/inspection.json ] || fail "no inspection to plan from"
cp table.seams/inspection.json kept.json

refuse "name the inspection to plan from" plan
refuse "none.json: " plan none.json
refuse "kept.json/: cannot be opened" plan kept.json/
refuse "--for both: it must be layout" plan table.seams --for both
refuse "--tolerance 0.005: it must be from 0.01 to 20 mm" plan table.seams --tolerance 0.005
refuse "--tolerance 1mm: leave the unit out" plan table.seams -t 1mm
refuse "--cut 30: it must be from 0.1 to 20 mm" plan table.seams --cut 30
refuse "--height 0: " plan table.seams --height 0
refuse "--paper a5: the paper must be a4 or letter" plan table.seams --paper a5
refuse "-o: name a folder" plan table.seams -o ""
refuse "--colour is no option of plan" plan table.seams --colour
refuse "--lean \"D1 east=1\": 'D1 east' is no edge of this table, which has A1 to C3" plan table.seams --lean "D1 east=1"
refuse "from 0 to 20 mm" plan table.seams --lean "B1 east=20.1"
refuse "B1 east is answered for twice" plan table.seams --lean "B1 east=1" --lean "c1 west=0,b1 east=square"
for option in --for --layout --tolerance --cut --height --lean --paper --output -f -t -p -o; do
    refuse "$option needs a value" plan table.seams $option
done

# Layouts: one for every inspection after the first, in its names.
refuse "so 1 times and not 3" plan table.seams kept.json --layout a --layout b --layout c
refuse "--layout \"A1 Z9\": " plan table.seams kept.json --layout "A1 Z9"
refuse "the first inspection names the tiles" plan table.seams kept.json \
    --layout "B1 A1 C1 / A2 B2 C2 / A3 B3 C3" --layout "A1 B1 C1 / A2 B2 C2 / A3 B3 C3"

# Damaged and foreign.
mkdir empty garden
echo "carrots" >garden/notes.txt
head -c 2000 kept.json >cut.json
refuse "empty/inspection.json: " plan empty
refuse "cut.json: " plan cut.json
refuse "garden: is there already and holds no inspection or plan of ours" plan table.seams -o garden
refuse "kept.json: is a file, not a folder" plan table.seams -o kept.json
refuse "no inspection or plan of ours" plan kept.json

# Into the inspection's folder, which keeps its own files; again over the first plan.
for word in table.seams table.seams/ table.seams/inspection.json; do
    "$program" plan $word >"$results/out" 2>"$results/err"
    status=$?
    [ $status -le 1 ] || fail "plan $word: exit status $status"
    says_nothing
    fits=$(sed -n 's/^ "fits": \(.*\),/\1/p' table.seams/plan.json)
    [ "$status $fits" = "0 true" ] || [ "$status $fits" = "1 false" ] || fail "exit status $status, but fits: $fits"
    prints "Next: "
    prints "Plan: table.seams/plan.html"
    cmp -s kept.json table.seams/inspection.json || fail "plan $word: the inspection was changed"
    [ "$(ls table.seams | tr '\n' ' ')" = "edges.csv inspection.json plan.html plan.json seams.csv strips.pdf " ] ||
        fail "plan $word: table.seams holds $(ls table.seams | tr '\n' ' ')"
done
lines=$(grep -o '"rank": ' table.seams/plan.json | wc -l)
over=$(sed -n '/^ "seams": /,/^ "ranking": /p' table.seams/inspection.json | grep -c '^ *"verdict": "over"')
[ "$lines" -ge 1 ] && [ "$lines" -le "$over" ] || fail "$lines lines of work for $over seams over"
[ "$(grep -c '^ *[0-9][0-9]*\. ' "$results/out")" -eq "$lines" ] || fail "the text has not $lines lines of work"
[ "$(data_of table.seams/plan.html | grep -o '"worth":"' | wc -l)" -eq "$lines" ] || fail "plan.html has not $lines lines of work"
prints "Order of work: push; photograph; square and bevel (worst seam first); true up; fill; photograph again."
prints "How good is good enough:"
promised=$(sed -n '/^ "forecast": /,/^ \]/p' table.seams/plan.json | grep -c '"verdict": "within"')
grep -qE "^Carried out and pushed: ($promised of|every)" "$results/out" || fail "$promised seams are promised in plan.json"
grep -q '"format": "seamwright-plan"' table.seams/plan.json || fail "plan.json is no plan"
grep -q '"tolerance_mm": 0.5' table.seams/plan.json || fail "plan.json: not the inspection's tolerance"
pdfinfo table.seams/strips.pdf | grep -q "(A4)" || fail "strips.pdf is not on A4"
prints "FFP3 or P3 mask"

# From inside the folder; elsewhere; with every option. Exit status 0 says that the plan fits, as plan.json does.
(cd table.seams && "$program" plan inspection.json >"$results/out" 2>"$results/err") || [ $? -eq 1 ] ||
    fail "plan inside the folder"
prints "Plan: ./plan.html"
"$program" plan kept.json -t 5 --cut 1 --height 20 --paper Letter --for layout --output elsewhere >"$results/out" 2>&1
status=$?
prints "Plan: elsewhere/plan.html"
[ "$(ls elsewhere | tr '\n' ' ')" = "plan.html plan.json strips.pdf " ] || fail "elsewhere holds $(ls elsewhere)"
fits=$(sed -n 's/^ "fits": \(.*\),/\1/p' elsewhere/plan.json)
[ "$status $fits" = "0 true" ] || [ "$status $fits" = "1 false" ] || fail "exit status $status, but fits: $fits"
grep -q '"height_mm": 20' elsewhere/plan.json || fail "--height is not in the plan"
pdfinfo elsewhere/strips.pdf | grep -q "letter" || fail "strips.pdf is not on letter paper"

# A second inspection of the same table, and the same with its layout said: the same plan.
"$program" plan table.seams kept.json -o two >/dev/null 2>"$results/err" || [ $? -eq 1 ] || fail "two inspections"
"$program" plan table.seams kept.json -o three --layout "A1 B1 C1 / A2 B2 C2 / A3 B3 C3" >/dev/null 2>"$results/err" ||
    [ $? -eq 1 ] || fail "two inspections with a layout"
cmp -s two/plan.json three/plan.json || fail "the layout as it lies changed the plan"

# For every arrangement, from both inspections, as they lie and with the same layout said.
for layout in "" "--layout=A1 B1 C1 / A2 B2 C2 / A3 B3 C3"; do
    "$program" plan table.seams kept.json --for any --cut 0.8 ${layout:+"$layout"} -o any$((count += 1)) \
        >"$results/out" 2>"$results/err"
    status=$?
    fits=$(sed -n 's/^ "fits": \(.*\),/\1/p' any$count/plan.json)
    [ "$status $fits" = "0 true" ] || [ "$status $fits" = "1 false" ] || fail "any: exit status $status, but fits: $fits"
    prints "Common square"
done
cmp -s any1/plan.json any2/plan.json || fail "the layout as it lies changed the plan for any"
grep -q '"common_tile_mm": [23]' any1/plan.json || fail "any: no common square in plan.json"
grep -q '"deepest_cut_mm": 0.8' any1/plan.json || fail "any: --cut is not in the plan"
sed -n 's/^ *"deepest_mm": \([0-9.]*\),/\1/p' any1/plan.json | sort -n | tail -1 >"$results/deepest"
grep -qx 0.8 "$results/deepest" || fail "any: with --cut 0.8 the deepest cut is $(cat "$results/deepest") mm"

# What a try square said is kept in the plan's folder and beside the inspection, used by later plans, given anew edge by
# edge, and forgotten when told so. An earlier plan that cannot be read keeps nothing, and says so.
answers() {
    tr -d ' \n' <"$1/plan.json" | sed 's/.*"answers":\[\([^]]*\)\].*/\1/'
}
planned() {
    "$program" plan "$@" >"$results/out" 2>"$results/err"
    status=$?
    what="seamwright plan $*"
    [ $status -le 1 ] || fail "$what: exit status $status"
}
planned table.seams --lean "B1 east = 1.6" --lean "c1 west=Square"
prints "Used what a try square said: B1 east leans 1.6 mm, C1 west is square."
both='{"edge":"B1east","lean_mm":1.6},{"edge":"C1west","lean_mm":0.0}'
[ "$(answers table.seams)" = "$both" ] || fail "$what: answers $(answers table.seams)"
knows table.seams/plan.html "Used what a try square said: B1 east leans 1.6 mm, C1 west is square."
planned table.seams -o elsewhere -t 1 # elsewhere has a plan without answers
[ "$(answers elsewhere)" = "" ] || fail "$what: answers $(answers elsewhere)"
planned table.seams -o anew
[ "$(answers anew)" = "$both" ] || fail "$what: answers $(answers anew)"
planned table.seams --lean "B1 east=1.4"
[ "$(answers table.seams)" = '{"edge":"B1east","lean_mm":1.4},{"edge":"C1west","lean_mm":0.0}' ] ||
    fail "$what: answers $(answers table.seams)"
planned table.seams --lean "C1 north=20, A3 west=9" # what no seam tells of, at the rim; neither is nor can be checked
prints "C1 north leans 20.0 mm, A3 west leans 9.0 mm, B1 east leans 1.4 mm, C1 west is square."
planned table.seams --lean none --lean "A1 east=9"
prints "A1 east: a try square said 9.0 mm, but the seam there is at most"
[ "$(answers table.seams)" = "" ] || fail "$what: answers $(answers table.seams)"
echo '{"format": "seamwright-plan"}' >anew/plan.json
planned table.seams -o anew
says "anew/plan.json: an earlier plan, which cannot be read"

# A photo in the place of its inspection: what to run first, as it is to be typed.
cp "$source/samples/millpond.jpg" "two words.jpg"
for command in plan recheck arrange "inspect x.jpg -o x.seams --after"; do
    # shellcheck disable=SC2086 # words of a command line
    refuse "two words.jpg: this is a photo; inspect it first: seamwright inspect 'two words.jpg'" $command "two words.jpg" \
        $([ "$command" = recheck ] && echo kept.json)
done
refuse "millpond.jpg: this is a photo; inspect it first: seamwright inspect $source/samples/millpond.jpg" plan \
    "$source/samples/millpond.jpg"
rm "two words.jpg"

run 0 plan --help
prints "Usage: seamwright plan"
prints "FFP3 or P3 mask"
run 0 plan --version
run 0 --help
prints "  plan "
rm -r anew table.seams garden empty two three any1 any2 elsewhere kept.json cut.json
holds
finish
