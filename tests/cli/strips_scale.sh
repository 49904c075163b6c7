# Strips are at true scale: rulers, end marks, joins and figures measured on the page as poppler renders it. $STRIPS makes
# strips of a made-up plan (tools/strips.c).
. "$2/tests/cli/tools/check.sh"

: "${STRIPS:?the program of tools/strips.c}"

# pixels FILE PAGE DPI X Y WIDTH HEIGHT: grey values of a part of a page, row after row, one a line.
pixels() {
    pdftoppm -gray -f "$2" -l "$2" -r "$3" -x "$4" -y "$5" -W "$6" -H "$7" "$1" 2>/dev/null | tail -c $(($6 * $7)) |
        od -An -v -tu1 -w1
}

# size FILE: the page's width and height in whole mm.
size() {
    pdfinfo "$1" | awk '/^Page size/ { printf "%d %d\n", $3 * 25.4 / 72, $5 * 25.4 / 72 }'
}

pages() {
    pdfinfo "$1" | awk '/^Pages/ { print $2 }'
}

# row FILE PAGE Y_MM: the middles, in mm, of the dark runs along a line of the page; 508 dpi are 20 px a mm.
row() {
    pixels "$1" "$2" 508 0 "$(awk "BEGIN { print int($3 * 20) }")" $((width * 20)) 1 | awk '
        { value = $1 + 0 }
        NR > 1 && before >= 128 && value < 128 { start = (NR - 1.5 + (before - 128) / (before - value)) / 20 }
        NR > 1 && before < 128 && value >= 128 { end = (NR - 1.5 + (128 - before) / (value - before)) / 20
            printf "%.3f\n", (start + end) / 2 }
        { before = value }'
}

# lines FILE PAGE: y in mm of the tiles' edges, the thick lines of 40 mm and more below the sheet's head; 127 dpi are 5 px
# a mm.
lines() {
    pixels "$1" "$2" 127 0 0 $((width * 5)) $((height * 5)) | awk -v width=$((width * 5)) '
        { x = (NR - 1) % width; y = int((NR - 1) / width) }
        x == 0 { run = 0 }
        { run = $1 < 90 ? run + 1 : 0 }
        run == 200 && y / 5 > 30 { if (y > last + 3) { if (count) print sum / count; sum = 0; count = 0 }
            last = y; sum += (y + 0.5) / 5; count++ }
        END { if (count) print sum / count }'
}

# words FILE PAGE: "x y text", the middle of every word in mm.
words() {
    pdftotext -f "$2" -l "$2" -bbox "$1" - | sed -n \
        's/.*xMin="\([^"]*\)" yMin="\([^"]*\)" xMax="\([^"]*\)" yMax="\([^"]*\)">\(.*\)<\/word>.*/\1 \2 \3 \4 \5/p' |
        awk '{ mm = 25.4 / 72 / 2; printf "%.2f %.2f %s\n", ($1 + $3) * mm, ($2 + $4) * mm, $5 }'
}

# near WHAT GOT WANTED MOST: as near as MOST mm.
near() {
    awk "BEGIN { d = (${2:-0}) - ($3); exit !(d <= $4 && d >= -$4) }" || fail "$1: '$2' mm, not $3 mm"
}

# What every sheet that tells to sand must have.
sheets() {
    count=$(pages "$1")
    # shellcheck disable=SC2046
    set -- "$1" $(size "$1")
    width=$2 height=$3
    for page in $(seq "$count"); do
        pdftotext -f "$page" -l "$page" -raw "$1" - | tr '\n' ' ' >"$results/text"
        for wanted in "Sheet $page of $count" "must measure 100 mm" "100 %" "FFP3 or P3 mask" "eye protection" \
            "blades" "outdoors" "Local rules" "licensed"; do
            grep -qF "$wanted" "$results/text" || fail "$1: sheet $page lacks \"$wanted\""
        done
        # The ruler's line lies 17.7 mm below the sheet's top, 4 mm right of the margin of 10; half a mm into it there are
        # ticks only.
        row "$1" "$page" 18.2 | awk '$1 > 13 && $1 < 115' >"$results/ticks"
        [ "$(wc -l <"$results/ticks")" -eq 101 ] || fail "$1: sheet $page: $(wc -l <"$results/ticks") ticks, not 101"
        near "$1: ruler of sheet $page" "$(awk 'NR == 1 { a = $1 } END { print $1 - a }' "$results/ticks")" 100 0.05
    done
}

# A mark's row: 13.7 mm into the tile (depth 14) there is nothing but marks; joins are dashed, and drawn there.
# whole FILE PAGE LINE_Y INTO SIDE: a strip of a whole edge.
whole() {
    row "$1" "$2" "$(awk "BEGIN { print $3 + $4 * 13.7 }")" >"$results/marks"
    [ "$(wc -l <"$results/marks")" -eq 2 ] || fail "$1: $(wc -l <"$results/marks") marks, not 2"
    near "$1: edge of $5" "$(awk 'NR == 1 { a = $1 } END { print $1 - a }' "$results/marks")" "$5" 0.05
}

# B2 east, the first strip: the tile lies below, north at the left; the figure at every place stands over it.
east() {
    line=$(lines "$1" 1 | head -1)
    whole "$1" 1 "$line" 1 "$2"
    words "$1" 1 >"$results/words"
    awk -v line="$line" '$3 == "north" && $2 > line && $2 < line + 30 && $1 < 25 { found = 1 } END { exit !found }' \
        "$results/words" || fail "$1: B2 east: no north end at the left, below the line"
    index=0
    for figure in 1.2 1.0 0.8 0.6 0.4 0.2 0 0 0 0 0 0 0; do
        awk -v line="$line" -v figure="$figure" -v wanted="$(awk "BEGIN { print 10 + $index * $2 / 12 }")" '
            $3 == figure && $2 < line && $2 > line - 9 && $1 > wanted - 0.3 && $1 < wanted + 0.3 { found = 1 }
            END { exit !found }' "$results/words" || fail "$1: B2 east: no $figure at place $index"
        index=$((index + 1))
    done
}

# C3 west, the second strip: the tile lies above, north at the left.
west() {
    line=$(lines "$1" 1 | sed -n 2p)
    whole "$1" 1 "$line" -1 "$2"
    awk -v line="$line" '$3 == "north" && $2 < line && $2 > line - 30 && $1 < 25 { found = 1 } END { exit !found }' \
        "$results/words" || fail "$1: C3 west: no north end at the left, above the line"
}

# deep FILE PAGE LINE_Y INTO X: how deep what comes off is drawn there, mm: from the middle of the edge's line to the shape's rim.
deep() {
    pixels "$1" "$2" 508 "$(awk "BEGIN { print int($5 * 20) }")" 0 1 $((height * 20)) | awk -v line="$3" -v into="$4" '
        { grey[NR] = $1 }
        END { for (i = int(line * 20) + 1; grey[i] < 250; i += into) { }
            print (i - 0.5 - line * 20) * into / 20 }'
}

# B2 east comes off 1.25 mm at its north end, C3 west 0.62, both straight from there to the next place, a twelfth of the edge
# on: half a mm into the strip, drawn ten times as deep, the one as the other. Half a line's width more or less.
drawn_alike() {
    near "$1: depth of B2 east" "$(deep "$1" 1 "$(lines "$1" 1 | head -1)" 1 10.5)" "12.5 - 2.1 * 6 / $2" 0.2
    near "$1: depth of C3 west" "$(deep "$1" 1 "$(lines "$1" 1 | sed -n 2p)" -1 10.5)" "6.2 - 3.2 * 6 / $2" 0.2
}

for paper in A4 letter; do
    "$STRIPS" layout 140 $paper whole.pdf || fail "no strips"
    sheets whole.pdf
    east whole.pdf 140
    west whole.pdf 140
    drawn_alike whole.pdf 140
    [ "$(pdftotext whole.pdf - | grep -c '^A-A')" -eq 0 ] || fail "whole.pdf: a join without need"
done

# 300 mm on A4: C3 west is sanded at both ends, so it takes two pieces, joined at A-A.
"$STRIPS" layout 300 A4 pieces.pdf
sheets pieces.pdf
[ "$(pdftotext -f 1 -l 1 pieces.pdf - | grep -c 'A-A')" -ge 2 ] || fail "pieces.pdf: not two marks A-A on the first sheet"
first=$(lines pieces.pdf 1 | sed -n 2p)
second=$(lines pieces.pdf 1 | sed -n 3p)
row pieces.pdf 1 "$(awk "BEGIN { print $first - 13.7 }")" >"$results/first"
row pieces.pdf 1 "$(awk "BEGIN { print $second - 13.7 }")" >"$results/second"
near "pieces.pdf: both pieces together" \
    "$(cat "$results/first" "$results/second" | awk 'NR == 1 { a = $1 } NR == 2 { b = $1 - a } NR == 3 { a = $1 }
        NR == 4 { print NR == 4 ? b + $1 - a : 0 }')" 300 0.1

# 1000 mm: four pieces and more, each mark twice.
"$STRIPS" layout 1000 A4 long.pdf
sheets long.pdf
for join in A-A B-B C-C; do
    [ "$(pdftotext long.pdf - | grep -cx "$join")" -ge 2 ] || fail "long.pdf: no pair of marks $join"
done

# Words: what a person at the bench needs, as text that can be selected.
pdftotext -raw pieces.pdf - | tr '\n' ' ' >"$results/text"
for wanted in "B2 east" "C3 west" "A2 north" "A1 south" "B1 west" "C1 south" "tile this side" "nothing here" \
    "drawn grey, 10 times as deep as it is: the same on all strips and wedges" "0.06" "Check with the try square first" \
    "drawn at true size" \
    "1.20 mm at the base" "1.5 degrees" "piece 2 of 2"; do
    grep -qF "$wanted" "$results/text" || fail "pieces.pdf lacks \"$wanted\""
done

# The side faces in section, 45 mm from top to base, at the left of whichever sheets they are on: A2 north 0.8 mm, then C1 south
# 0.9. The wedges beside them are 10 times as wide as they are, like the strips. Nothing at the top edge, all of it at the base;
# from the face, 20 mm right of the margin of 10, to the slanted line, and grey in between.
out=8
for page in $(seq "$(pages pieces.pdf)"); do
    pixels pieces.pdf "$page" 254 270 0 1 $((height * 10)) | awk '
        { dark = $1 < 128 } dark && !before { start = NR } before && !dark { print (start + NR - 1) / 2 / 10 }
        { before = dark }' >"$results/column"
    for top in $(awk 'NR > 1 && $1 - last > 44.9 && $1 - last < 45.1 { print last } { last = $1 }' "$results/column"); do
        for share in 0.25 0.5 0.9; do
            y=$(awk "BEGIN { print $top + 45 * $share }")
            row pieces.pdf "$page" "$y" | awk '$1 > 29 && $1 < 57' >"$results/wedge"
            near "pieces.pdf: the face, $share down" "$(head -1 "$results/wedge")" 30 0.1
            near "pieces.pdf: the wedge of $out, $share down" "$(sed -n 2p "$results/wedge")" "30 + $out * $share" 0.15
            grey=$(pixels pieces.pdf "$page" 254 300 "$(awk "BEGIN { print int($y * 10) }")" 280 1 |
                awk '$1 > 170 && $1 < 200 { count++ } END { print count / 10 }')
            near "pieces.pdf: grey of the wedge of $out, $share down" "$grey" "$out * $share - 0.25" 0.25
        done
        out=$((out + 1))
    done
done
[ $out -eq 10 ] || fail "pieces.pdf: $((out - 8)) side faces of 45 mm at the left, not two"

# What no line of the work list names has neither strip nor wedge; a plan for every layout has no list and shows all.
"$STRIPS" listed 140 A4 listed.pdf
pdftotext -raw listed.pdf - >"$results/text"
for wanted in "B2 east" "C3 west" "C1 south"; do
    grep -qF "$wanted" "$results/text" || fail "listed.pdf lacks $wanted"
done
for other in "A2 north" "A1 south" "B1 west"; do
    ! grep -qF "$other" "$results/text" || fail "listed.pdf has $other, which is not on the list"
done
"$STRIPS" any 140 A4 any.pdf
for wanted in "B2 east" "A1 south" "B1 west"; do
    pdftotext -raw any.pdf - | grep -qF "$wanted" || fail "any.pdf lacks $wanted"
done

# The same plan gives the same bytes; no date.
"$STRIPS" layout 300 A4 again.pdf
cmp -s pieces.pdf again.pdf || fail "the same plan gave other bytes"
pdfinfo pieces.pdf | grep -q Date && fail "pieces.pdf has a date"

# Nothing to sand: one page that says so, and no cautions against dust that nobody makes.
"$STRIPS" nothing 300 A4 nothing.pdf
[ "$(pages nothing.pdf)" -eq 1 ] || fail "nothing.pdf: not one page"
pdftotext -raw nothing.pdf - | tr '\n' ' ' >"$results/text"
grep -qF "Nothing to sand" "$results/text" || fail "nothing.pdf does not say so"
grep -qF "must measure 100 mm" "$results/text" || fail "nothing.pdf has no check of its ruler"
finish
