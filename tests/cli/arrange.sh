# seamwright arrange on samples of two by two tiles: what is printed and written, exit statuses 0, 1 and 2, and everything
# it refuses. Inspected once, at 2 mm and without pictures.
# shellcheck disable=SC2012 # the names are ours, ls is safe with them
. "$2/tests/cli/tools/check.sh"

run 1 inspect "$source/samples/ferry-1.jpg" -r 80/48 --step 2 --no-pictures -o one.seams
run 1 inspect "$source/samples/ferry-3.jpg" -r 80/48 --step 2 --no-pictures -o turned.seams

# The photo was not taken of tiles pushed tight, so bases may hold each seam apart, and the worst case counts: no
# arrangement is promised, and a try square comes next.
run 1 arrange one.seams -o unsure
says_nothing
prints " mm at worst ("
prints "Next: If the tiles were pushed tight for the photo, hold a try square to "
grep -q '"try_square": "[AB][12] [nesw]' unsure/arrange.json || fail "$what: no face to hold a try square to"

# It said that all are square, and the plan beside the inspection keeps that.
square=
for tile in A1 B1 A2 B2; do
    square="$square$tile north=0,$tile east=0,$tile south=0,$tile west=0,"
done
refuse "--lean \"A1 up=0\": 'A1 up' is no edge" arrange one.seams --lean "A1 up=0"
run 0 arrange one.seams --lean "${square%,}" -o told
prints "Used what a try square said: A1 north is square, A1 east is square"
"$program" plan one.seams --lean "${square%,}" >"$results/out" 2>&1 || [ $? -eq 1 ] || fail "plan with answers"
run 1 arrange one.seams --lean none -o forgotten
cmp -s unsure/arrange.json forgotten/arrange.json || fail "$what: an answer forgotten was used"

# The folder or the file; results beside the inspection, which stays.
run 0 arrange one.seams
says_nothing
cmp -s one.seams/arrange.json told/arrange.json || fail "$what: kept answers are not those given"
prints "Laid anew and pushed together, the widest gap should come to 0."
prints "Layout: \""
prints "turned"
prints "Next: "
prints "Report: one.seams/arrange.html"
[ "$(ls one.seams | tr '\n' ' ')" = "arrange.html arrange.json edges.csv inspection.json plan.html plan.json seams.csv strips.pdf " ] ||
    fail "one.seams holds $(ls one.seams | tr '\n' ' ')"
grep -q '"format": "seamwright-arrangement"' one.seams/arrange.json || fail "$what: no arrange.json"
alone one.seams/arrange.html
knows one.seams/arrange.html '{"open":"arrangement",'

# The same again is the same, and what it says it would come to is less than what it is.
run 0 arrange one.seams/inspection.json -o again
cmp -s one.seams/arrange.json again/arrange.json || fail "$what: another answer the second time"
[ "$(ls again | tr '\n' ' ')" = "arrange.html arrange.json " ] || fail "again holds $(ls again | tr '\n' ' ')"
worst=$(sed -n 's/.*"worst_mm": \([0-9.]*\).*/\1/p' again/arrange.json | tr '\n' ' ')
echo "$worst" | awk '{ exit !($1 > $2 + 0.01 && $2 >= 0) }' || fail "$what: widest gaps before and after are $worst"

# A limit that no arrangement keeps.
run 1 arrange one.seams --tolerance 0.05 -o tight
prints "over 0.05 mm"

# All tiles kept: nothing to find. Some kept: they stay.
run 1 arrange one.seams --keep A1,B1,A2,B2 -o kept
prints "Nothing better was found: leave the tiles as they lie"
grep -q '"moved": 0' kept/arrange.json || fail "$what: moved what was to stay"
run 0 arrange one.seams --keep=B2 --seed 5 -o kept
grep -q '{"place": "B2", "tile": "B2", "quarter_turns": 0}' kept/arrange.json ||
    tr -d '\n ' <kept/arrange.json | grep -q '"place":"B2","tile":"B2","quarter_turns":0' || fail "$what: B2 moved"

# The same table photographed from another side: as if every tile had been turned to the left.
run 0 arrange one.seams turned.seams --layout "B1l B2l / A1l A2l" -o both
says_nothing

# A page of the user's own is not overwritten.
mkdir mine
echo mine >mine/arrange.html
refuse "mine/arrange.html: was not written by arrange" arrange one.seams -o mine
[ "$(cat mine/arrange.html)" = mine ] || fail "$what: overwrote it"
[ "$(ls mine)" = arrange.html ] || fail "$what: left something behind"

refuse "name the inspection to arrange" arrange
refuse "none.seams: cannot be opened" arrange none.seams
refuse "'C9' is no tile of this table, which has A1 to B2" arrange one.seams --keep A1,C9
refuse "'' is no tile" arrange one.seams --keep A1,
refuse "give --layout once for every inspection after the first" arrange one.seams --layout "A1 B1 / A2 B2"
refuse "C1 is no tile of the first inspection" arrange one.seams turned.seams --layout "C1 B1 / A2 B2"
refuse "its layout has 4 x 1" arrange one.seams turned.seams --layout "A1 B1 A2 B2"
refuse "from 1 to 999999999" arrange one.seams --seed 0
refuse "from 1 to 999999999" arrange one.seams --seed two
refuse "--tolerance 21" arrange one.seams --tolerance 21
run 0 arrange --help
prints "Usage: seamwright arrange INSPECTION"
finish
