# seamwright inspect when card or table is not found: the sentence says which, and names the way out; --square and --corners take over,
# and the result says so. The bad photos are made from samples by tools/spoil.c.
. "$2/tests/cli/tools/check.sh"
spoil=${SPOIL:-${program%/*}/tests/spoil}
[ -x "$spoil" ] || { echo "FAIL: there is no $spoil; build the tests first" && exit 1; }
card=1440,1060,1750,960,1820,1275,1535,1350
# tiles_are COLUMNS ROWS FOLDER
tiles_are() {
    grep -q "\"columns\": $1, \"rows\": $2," "$3/inspection.json" || fail "$3: not $1 x $2 tiles"
}
table=230,180,120,2110,2925,2180,2990,420

# Black strips from the card's print over its margin, as cables lie: no square any more, unless somebody says where.
"$spoil" "$source/samples/river-bend.jpg" cable.jpg cover 1770 1120 80 10 cover 1675 1295 10 80
refuse "cable.jpg: no reference square of 100/60 mm found" inspect cable.jpg
says "If the card is so, say where its four outer corners are, in pixels: --square x,y,x,y,x,y,x,y"
run 1 inspect cable.jpg --square "$card"
says "The card was not looked for but measured where you pointed (--square)"
tiles_are 3 2 cable.seams
grep -q '"kind": "pointed at"' cable.seams/inspection.json || fail "the inspection does not say that the card was told"
grep -q 'measured where you pointed' cable.seams/report.html || fail "the page does not say that the card was told"
refuse "cable.jpg: no edges of the reference square (--reference) were found at the card's place, --square 240,260," \
    inspect cable.jpg --square 240,260,540,260,540,560,240,560

# Without its floor the table is not found; with its corners it is the same table.
cp "$source/samples/river-bend.jpg" whole.jpg
run 1 inspect whole.jpg --no-pictures
cp whole.seams/seams.csv found.csv
run 1 inspect whole.jpg --corners "$table" --square "$card" --no-pictures
says "Card and table were not looked for but measured where you pointed (--square, --corners)"
tiles_are 3 2 whole.seams
[ "$(cut -d, -f1 found.csv | uniq)" = "$(cut -d, -f1 whole.seams/seams.csv | uniq)" ] || fail "other seams"

# A table that the photo cuts off is no table; of one whose cloth or floor looks like more tiles the corners say where it ends.
"$spoil" whole.jpg cut.jpg crop 0 0 2700 2448
refuse "cut.jpg: the table is cut off at the right" inspect cut.jpg
says "say where the table's outer corners are, in pixels: --corners x,y,x,y,x,y,x,y"
run 1 inspect cut.jpg --corners 230,180,2100,335,2030,2160,120,2110 --square "$card" --no-pictures
tiles_are 2 2 cut.seams

# What is told of one photo is not taken over to the next, and does not go with several.
run 1 inspect whole.jpg --after cable.seams --no-pictures -o next.seams
! grep -q '"pointed at"' next.seams/inspection.json || fail "--after took corners over"
refuse "--corners and --square are places in one photo and cannot be those of 2" \
    inspect whole.jpg cable.jpg --corners "$table"
refuse "cannot be those of 2" inspect whole.jpg cable.jpg --square "$card"

# Corners of something else.
refuse "whole.jpg: --corners are not the corners of a rectangle: by the card, the sides between them measure" \
    inspect whole.jpg --corners 230,180,120,2110,2925,2180,2700,420
refuse "whole.jpg: no reference square lies on the table" inspect whole.jpg --corners 230,180,220,1200,1200,1200,1200,200
refuse "no seams of these square tiles show" inspect whole.jpg --corners "$table" --table 2x2
refuse "whole.jpg: --square names the same card twice" inspect whole.jpg --square "$card" --square "$card"
finish
