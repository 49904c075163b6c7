# seamwright inspect with several photos of one table (samples/ferry-1 to -3; the third turned by a quarter): one result
# with its spread; what is not the same table is refused.
# shellcheck disable=SC2012 # the names are ours, ls is safe with them
. "$2/tests/cli/tools/check.sh"

cp "$source/samples/ferry-1.jpg" one.jpg
cp "$source/samples/ferry-2.jpg" two.jpg
cp "$source/samples/ferry-3.jpg" three.jpg

# All three: the folder has the first photo's name, the files are the usual ones.
run 1 inspect one.jpg two.jpg three.jpg -r 80/48
prints "3 photos combined: their mean gaps scatter by 0.0"
prints "Report: one.seams"
[ "$(ls one.seams | tr '\n' ' ')" = "edges.csv inspection.json overlay.png plan.json report.html seams.csv seams.jpg strips.pdf table.jpg " ] ||
    fail "one.seams holds $(ls one.seams | tr '\n' ' ')"
grep -q '"photos": \["one.jpg", "two.jpg", "three.jpg"\]' one.seams/inspection.json || fail "photos are not listed"
grep -q '"quarter_turns": \[0, 0, 3\]' one.seams/inspection.json || fail "the third photo's turn was not found"
grep -q '"file": "one.jpg"' one.seams/inspection.json || fail "the first photo is not the photo"
grep -q '"s_r_mm": 0\.0' one.seams/inspection.json || fail "no s_r"
knows one.seams/report.html '"repeatability":'
! grep -q 'left out there' one.seams/inspection.json || fail "a seam counts as moved on an untouched table"

# The turned one first: all the same, the others are turned to it.
run 1 inspect three.jpg one.jpg -r 80/48 --no-pictures -o turned.seams
grep -q '"quarter_turns": \[0, 1\]' turned.seams/inspection.json || fail "the second photo's turn was not found"

# One photo: as ever.
run 1 inspect one.jpg -r 80/48 --no-pictures -o lone.seams
! grep -q repeatability lone.seams/inspection.json || fail "repeatability of one photo"
grep -q '"max_u95"' lone.seams/inspection.json || fail "no uncertainty for one photo"

# On a terminal the progress line counts the photos.
script -qec "'$program' inspect one.jpg two.jpg -r 80/48 --no-pictures -o lone.seams" /dev/null </dev/null \
    >"$results/terminal" 2>&1
grep -q "photo 1 of 2, .*: *[0-9]* %" "$results/terminal" || fail "progress does not tell photo 1 of 2"
grep -q "photo 2 of 2, .*: *[0-9]* %" "$results/terminal" || fail "progress does not tell photo 2 of 2"

# Refused: another table, the same photo twice (by name, by link, by content), one that is not there.
rm -r one.seams turned.seams lone.seams
cp "$source/samples/mill-meadow.jpg" mill.jpg
ln -s one.jpg link.jpg
cp one.jpg copy.jpg
refuse "none.jpg: cannot be opened" inspect one.jpg none.jpg -r 80/48
refuse "one.jpg: this photo is named twice" inspect one.jpg one.jpg -r 80/48
refuse "link.jpg: this photo is named twice" inspect one.jpg link.jpg -r 80/48
refuse "copy.jpg (photo 2) is the same picture as one.jpg (photo 1)" inspect one.jpg copy.jpg -r 80/48
refuse "mill.jpg: no reference square of 80/48" inspect one.jpg mill.jpg -r 80/48
cp "$source/samples/valley-north.jpg" north.jpg
cp "$source/samples/valley-north-sanded.jpg" sanded.jpg
refuse "sanded.jpg (photo 2) does not show the same table as north.jpg (photo 1)" inspect north.jpg sanded.jpg
refuse "seams differ, " inspect north.jpg sanded.jpg --tile 300
refuse "was a tile moved?" inspect north.jpg sanded.jpg --tile 300
holds one.jpg two.jpg three.jpg mill.jpg link.jpg copy.jpg north.jpg sanded.jpg
finish
