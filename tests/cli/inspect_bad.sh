# seamwright inspect on photos that cannot be measured: exit status 2, one line that names the photo, says what is wrong and what
# to do, and nothing left behind. The bad photos are made from samples by tools/spoil.c, which the tests build.
. "$2/tests/cli/tools/check.sh"
spoil=${SPOIL:-${program%/*}/tests/spoil}
[ -x "$spoil" ] || { echo "FAIL: there is no $spoil; build the tests first" && exit 1; }

# spoiled NAME SAMPLE WHAT...
spoiled() {
    name=$1
    sample=$2
    shift 2
    "$spoil" "$source/samples/$sample.jpg" "$name" "$@" || fail "$name could not be made"
}

# refuse_photo PHOTO WRONG ADVICE OPTION...: the line starts with the photo's name and holds both what is wrong and what to do
# (basic regular expressions; several wordings may be right).
refuse_photo() {
    photo=$1
    wrong=$2
    advice=$3
    shift 3
    refuse "$photo: " inspect "$photo" "$@"
    [ "$got" -eq 2 ] || return
    grep -q "^$photo: .*\($wrong\)" "$results/err" || fail "$what: the line does not say \"$wrong\""
    grep -q "$advice" "$results/err" || fail "$what: the line does not advise \"$advice\""
}

# Files that are no whole photos.
refuse_photo none.jpg "no such file" "check the name"
printf 'Notes of the river valley group\n' >notes.jpg
refuse_photo notes.jpg "no photo" "save it as"
: >empty.jpg
refuse_photo empty.jpg "empty" "is needed"
mkdir folder.jpg
refuse_photo folder.jpg "folder" "name one photo"
head -c 300000 "$source/samples/valley-north.jpg" >half.jpg
refuse_photo half.jpg "damaged or cut short" "copy it"
size=$(wc -c <"$source/samples/valley-north.jpg")
head -c $((size - 2000)) "$source/samples/valley-north.jpg" >nearly.jpg
refuse_photo nearly.jpg "damaged or cut short" "copy it"
spoiled giant.jpg valley-north claim 30000 30000
refuse_photo giant.jpg "30000 x 30000" "smaller"

# No square, or not the whole of the only one.
spoiled bare.jpg valley-north cover 640 270 360 350 cover 2230 380 350 340 cover 840 1870 340 360 cover 2340 1770 350 360
refuse_photo bare.jpg "no reference square" "flat\|unshadowed\|wholly"
refuse_photo bare.jpg "no plain reference square of 100 mm" "flat\|unshadowed\|wholly" --reference 100
spoiled half_square.jpg river-bend crop 1637 0 1627 2448
refuse_photo half_square.jpg "square" "wholly in the picture\|step back"
spoiled three_quarters.jpg river-bend crop 0 0 3264 1300
refuse_photo three_quarters.jpg "square" "wholly in the picture\|step back"

# The right photo with a wrong statement. A reference of another size makes tiles of another size.
cp "$source/samples/valley-north.jpg" table.jpg
refuse_photo table.jpg "measure about 24[01] mm, not 300 mm" "reference" --reference 80/48 --tile 300
refuse_photo table.jpg "measure about 30[01] mm, not 250 mm" "tile" --tile 250
refuse_photo table.jpg "3 x 3 tiles.*not 4 x 4" "leave --table out" --table 4x4
refuse_photo table.jpg "3 x 3 tiles.*not 3 x 2" "leave --table out" --table 3x2
refuse_photo table.jpg "no plain reference square of 100 mm" "flat\|unshadowed\|wholly" --reference 100

# Part of the table is outside the picture: most of a tile, or a hand's breadth.
spoiled cut_right.jpg valley-north crop 0 0 2159 2448
refuse_photo cut_right.jpg "cut off at the right" "step back"
spoiled cut_bottom.jpg valley-north crop 0 0 3264 1799
refuse_photo cut_bottom.jpg "cut off at the bottom" "step back"
spoiled cut_left.jpg valley-north crop 900 0 2364 2448
refuse_photo cut_left.jpg "cut off at the left" "step back"
spoiled cut_top.jpg valley-north crop 0 700 3264 1748
refuse_photo cut_top.jpg "cut off at the top" "step back"
spoiled hand_right.jpg valley-north crop 0 0 2600 2448
refuse_photo hand_right.jpg "cut off at the right" "step back"

# Shaken or out of focus; and a photo from a messenger, far too small.
spoiled soft.jpg valley-north blur 6
refuse_photo soft.jpg "blurred\|out of focus\|not sharp\|soft" "focus\|still\|again"
spoiled fog.jpg valley-north blur 25
refuse_photo fog.jpg "blurred\|out of focus\|not sharp\|soft\|no reference square" "focus\|still\|again\|flat"
spoiled small.jpg valley-north shrink 8
refuse_photo small.jpg "only [0-9]* pixels" "nearer\|full size"
spoiled tiny.jpg valley-north shrink 100
refuse_photo tiny.jpg "pixels\|no reference square" "nearer\|full size\|larger\|flat"

# Results that cannot be put where they are wanted: under a file, in a folder that is not there, where nobody may write (not even
# root), in a read-only folder (root without its privileges).
echo mine >file
refuse "file/out: " inspect table.jpg -o file/out
refuse "missing/out: " inspect table.jpg -o missing/out
for place in /proc/seamwright-test /dev/null/seamwright-test; do
    refuse "$place: " inspect table.jpg --no-pictures -o "$place"
    grep -q "; ." "$results/err" || fail "$place: the line does not say what to do"
done
mkdir -m 555 locked
if [ "$(id -u)" = 0 ]; then
    printf '#!/bin/sh\nexec setpriv --bounding-set=-all "%s" "$@"\n' "$program" >"$results/bound"
    chmod +x "$results/bound"
    program=$results/bound
fi
run 0 --version # or the refusal would not be the folder's
refuse "locked/out: " inspect table.jpg --no-pictures -o locked/out
grep -q "; ." "$results/err" || fail "locked/out: the line does not say what to do"
finish
