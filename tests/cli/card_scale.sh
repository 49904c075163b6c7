# Cards and checkerboards are at true scale: sides, margins and rulers measured on the page as poppler renders it.
. "$2/tests/cli/tools/check.sh"

per_mm=20 # 508 dpi are 20 px a mm

# pixels FILE DPI X Y WIDTH HEIGHT: grey values of a part of the page, row after row, one a line.
pixels() {
    pdftoppm -gray -r "$2" -x "$3" -y "$4" -W "$5" -H "$6" "$1" 2>/dev/null | tail -c $(($5 * $6)) |
        od -An -v -tu1 -w1
}

# size FILE: the page's width and height in whole mm.
size() {
    pdfinfo "$1" | awk '/^Page size/ { printf "%d %d\n", $3 * 25.4 / 72, $5 * 25.4 / 72 }'
}

# runs LEAST: from grey values of a line across the page, the dark runs of at least LEAST mm, each as "start end" in mm.
# An edge lies where the values cross half-way, interpolated between the two pixels' centres.
runs() {
    awk -v least="$1" -v per_mm=$per_mm '
        { value = $1 + 0 }
        NR > 1 && before >= 128 && value < 128 { start = (NR - 1.5 + (before - 128) / (before - value)) / per_mm }
        NR > 1 && before < 128 && value >= 128 {
            end = (NR - 1.5 + (128 - before) / (value - before)) / per_mm
            if (end - start >= least) printf "%.3f %.3f\n", start, end
        }
        { before = value }'
}

# row FILE Y_MM LEAST and column FILE X_MM LEAST: the dark runs along a line of the page.
row() {
    pixels "$1" 508 0 "$(awk "BEGIN { print int($2 * $per_mm) }")" $((width * per_mm)) 1 | runs "$3"
}
column() {
    pixels "$1" 508 "$(awk "BEGIN { print int($2 * $per_mm) }")" 0 1 $((height * per_mm)) | runs "$3"
}

# box FILE LEAST: left top right bottom, in whole mm, of what is black over at least LEAST mm across and 3 mm down (so
# neither letters nor a ruler's line).
box() {
    pixels "$1" 25.4 0 0 "$width" "$height" | awk -v width="$width" -v least="$2" '
        { x = (NR - 1) % width; y = int((NR - 1) / width); run = (x > 0 && $1 < 64) ? run + 1 : $1 < 64 }
        run == least && !(y in start) { start[y] = x - least + 1 }
        run >= least { end[y] = x + 1 }
        END {
            for (row = 0; row <= y; row++) {
                deep = (row in start) ? deep + 1 : 0
                if (deep < 3) continue
                if (top == "") { top = row - 2; left = start[row] }
                if (start[row] < left) left = start[row]
                if (end[row] > right) right = end[row]
                bottom = row + 1
            }
            print left, top, right, bottom
        }'
}

# near WHAT GOT WANTED: within 0.1 mm.
near() {
    awk "BEGIN { d = (${2:-0}) - ($3); exit !(d <= 0.1 && d >= -0.1) }" || fail "$1: '$2' mm, not $3 mm"
}

span() {
    awk 'NR == 1 { start = $1 } END { print $2 - start }'
}
# Every run is SIDE mm long, within 0.1 mm.
squares() {
    awk -v side="$1" '{ d = $2 - $1 - side } d > 0.1 || d < -0.1 { bad = 1 } END { exit bad }'
}
# Of the first marks that stand about 1 mm apart: the distance from the first to the last, when there are exactly COUNT.
# (Letters follow farther down the page.)
ticks() {
    awk -v count="$1" '
        { middle = ($1 + $2) / 2 }
        NR == 1 { start = middle }
        NR > 1 && middle - last > 1.5 { exit }
        { last = middle; seen++ }
        END { if (seen == count) print last - start }'
}

# rulers FILE LEVEL_Y UPRIGHT_X: 101 ticks each, 100 mm from the first to the last.
rulers() {
    near "$1: level ruler" "$(row "$1" "$2" 0.05 | ticks 101)" 100
    near "$1: upright ruler" "$(column "$1" "$3" 0.05 | ticks 101)" 100
}

# white FILE LEFT TOP RIGHT BOTTOM: nothing is printed within 10 mm around this box (all in mm).
white() {
    dark=$(pixels "$1" 127 $((($2 - 10) * 5 + 3)) $((($3 - 10) * 5 + 3)) $((($4 - $2 + 20) * 5 - 6)) \
        $((($5 - $3 + 20) * 5 - 6)) | awk -v width=$((($4 - $2 + 20) * 5 - 6)) -v inner_x=$((($4 - $2) * 5)) \
        -v inner_y=$((($5 - $3) * 5)) '
        { x = (NR - 1) % width - 47; y = int((NR - 1) / width) - 47 }
        (x < -5 || x > inner_x + 5 || y < -5 || y > inner_y + 5) && $1 < 250 { dark++ }
        END { print dark + 0, NR }')
    if [ "${dark%% *}" -ne 0 ] || [ "${dark##* }" -lt 10000 ]; then
        fail "$1: not 10 mm of white around ($dark)"
    fi
}

# card FILE OUTER INNER: a frame, or a plain square when INNER is 0.
card() {
    # shellcheck disable=SC2046
    set -- "$@" $(size "$1")
    width=$4 height=$5
    # shellcheck disable=SC2046
    set -- "$1" "$2" "$3" $(box "$1" 5)
    left=$4 top=$5 right=$6 bottom=$7
    middle_x=$(((left + right) / 2)) middle_y=$(((top + bottom) / 2))
    for y in $((top + 3)) $middle_y $((bottom - 3)); do
        near "$1: outer side across at $y mm" "$(row "$1" "$y" 5 | span)" "$2"
    done
    for x in $((left + 3)) $middle_x $((right - 3)); do
        near "$1: outer side down at $x mm" "$(column "$1" "$x" 5 | span)" "$2"
    done
    if [ "$3" -gt 0 ]; then
        near "$1: inner side across" "$(row "$1" $middle_y 5 | awk 'NR == 1 { e = $2 } NR == 2 { print $1 - e }')" "$3"
        near "$1: inner side down" "$(column "$1" $middle_x 5 | awk 'NR == 1 { e = $2 } NR == 2 { print $1 - e }')" "$3"
    else
        [ "$(row "$1" $middle_y 5 | wc -l)" -eq 1 ] || fail "$1: the plain square is not plain"
    fi
    white "$1" "$left" "$top" "$right" "$bottom"
    # The rulers lie 2 mm outside the cut line, which is 12 mm outside the square, or outside each other where they are
    # longer (50 mm and their labels); half a mm into them there are ticks only.
    half_level=$(awk "BEGIN { half = $2 / 2 + 12; print (half > 54 ? half : 54) + 2.5 }")
    half_upright=$(awk "BEGIN { half = $2 / 2 + 12; print (half > 64 ? half : 64) + 2.5 }")
    rulers "$1" "$(column "$1" $((left + 3)) 5 | awk -v half="$half_level" '{ print ($1 + $2) / 2 + half }')" \
        "$(row "$1" $((top + 3)) 5 | awk -v half="$half_upright" '{ print ($1 + $2) / 2 - half }')"
}

# board FILE COLUMNS ROWS SQUARE: odd columns or rows begin and end with the same colour, so two lines span the whole.
board() {
    # shellcheck disable=SC2046
    set -- "$@" $(size "$1")
    width=$5 height=$6
    # shellcheck disable=SC2046
    set -- "$1" "$2" "$3" "$4" $(box "$1" $(($4 - 2)))
    left=$5 top=$6 right=$7 bottom=$8
    row "$1" $((top + $4 / 2)) 5 >"$results/first"
    row "$1" $((top + $4 + $4 / 2)) 5 >"$results/second"
    near "$1: across" "$(cat "$results/first" "$results/second" | sort -n | span)" $(($2 * $4))
    [ "$(cat "$results/first" "$results/second" | wc -l)" -eq "$2" ] || fail "$1: not $2 squares across"
    cat "$results/first" "$results/second" | squares "$4" || fail "$1: a square is not $4 mm across"
    column "$1" $((left + $4 / 2)) 5 >"$results/first"
    column "$1" $((left + $4 + $4 / 2)) 5 >"$results/second"
    near "$1: down" "$(cat "$results/first" "$results/second" | sort -n | span)" $(($3 * $4))
    [ "$(cat "$results/first" "$results/second" | wc -l)" -eq "$3" ] || fail "$1: not $3 squares down"
    cat "$results/first" "$results/second" | squares "$4" || fail "$1: a square is not $4 mm down"
    white "$1" "$left" "$top" "$right" "$bottom"
    rulers "$1" "$(sort -n "$results/first" "$results/second" | awk 'END { print $2 + 10.5 }')" 8.5
}

# sheet FILE PAGE OUTER INNER COLUMNS ROWS: cards side by side, all alike; the first page's rulers.
sheet() {
    pdfseparate -f "$2" -l "$2" "$1" page.pdf
    # shellcheck disable=SC2046
    set -- "$@" $(size page.pdf)
    width=$7 height=$8
    # shellcheck disable=SC2046
    set -- "$1" "$2" "$3" "$4" "$5" "$6" $(box page.pdf 20) # longer than a ruler's ticks
    left=$7 top=$8
    row page.pdf $((top + 3)) 5 >"$results/across"
    column page.pdf $((left + 3)) 5 >"$results/down"
    [ "$(wc -l <"$results/across") $(wc -l <"$results/down")" = "$5 $6" ] || fail "$1: not $5 by $6 cards"
    squares "$3" <"$results/across" || fail "$1: a card is not $3 mm across"
    squares "$3" <"$results/down" || fail "$1: a card is not $3 mm down"
    near "$1: from card to card" "$(awk 'NR == 1 { s = $1 } NR == 2 { print $1 - s }' "$results/down")" $(($3 + 24))
    middle=$((top + $3 / 2))
    near "$1: inner side" "$(row page.pdf $middle 5 | awk 'NR == 1 { e = $2 } NR == 2 { print $1 - e }')" "$4"
    white page.pdf "$left" "$top" $((left + $3)) $((top + $3))
    rulers page.pdf "$(awk 'END { print $2 + 14.5 }' "$results/down")" "$(awk 'NR == 1 { print $1 - 14.5 }' "$results/across")"
}

run 0 card -o nine.pdf --frame 60/36 --count 9
sheet nine.pdf 1 60 36 2 3
run 0 card -o nine-letter.pdf --frame 60/36 --count 9 --paper letter
sheet nine-letter.pdf 1 60 36 3 2
run 0 card -o a4.pdf
card a4.pdf 100 60
run 0 card -o letter.pdf --paper letter
card letter.pdf 100 60
run 0 card -o small.pdf --frame 80/40
card small.pdf 80 40
run 0 card -o plain.pdf --plain 100
card plain.pdf 100 0
run 0 card -o board.pdf --checkerboard 10x7 --square 25
board board.pdf 10 7 25
run 0 card -o board-letter.pdf --checkerboard 10x7 --square 25 --paper letter
board board-letter.pdf 10 7 25
run 0 card -o upright.pdf --checkerboard 7x10 --square 22
board upright.pdf 7 10 22

# The ready-made sheets are what the program makes now, as far as a ruler can tell.
card "$source/calib/frame-100-60-a4.pdf" 100 60
card "$source/calib/frame-100-60-letter.pdf" 100 60
card "$source/calib/plain-100-a4.pdf" 100 0
board "$source/calib/checkerboard-10x7-25-a4.pdf" 10 7 25
board "$source/calib/checkerboard-10x7-25-letter.pdf" 10 7 25
finish
