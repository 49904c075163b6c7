# seamwright inspect on a drawn table: exit statuses 0 and 1, what lies in the folder, where it lies, and what is printed.
# How exactly it measures is no matter here: the gaps are 3 mm wide, the limits 1 mm and 10 mm.
# shellcheck disable=SC2012 # the names are ours, ls is safe with them
. "$2/tests/cli/tools/check.sh"

# table NAME: NAME.png, a plan of 2x2 tiles of 300 mm, 3 mm apart, on a floor, with two frame cards 100/60 on them, at
# 4 px/mm. Drawn as a PDF whose points stand for millimetres (288 dpi are 4 px a point); poppler renders it, and makes up
# for the missing cross-reference table.
table() {
    content="0.55 0.42 0.3 rg 0 0 700 700 re f 0.02 g 48.5 48.5 603 603 re f
0.62 0.66 0.7 rg 48.5 48.5 300 300 re 351.5 48.5 300 300 re 48.5 351.5 300 300 re 351.5 351.5 300 300 re f
1 g 100 500 124 124 re 500 100 124 124 re f 0.05 g 112 512 100 100 re 512 112 100 100 re f
1 g 132 532 60 60 re 532 132 60 60 re f"
    {
        echo "%PDF-1.4"
        echo "1 0 obj << /Type /Catalog /Pages 2 0 R >> endobj"
        echo "2 0 obj << /Type /Pages /Kids [3 0 R] /Count 1 >> endobj"
        echo "3 0 obj << /Type /Page /Parent 2 0 R /MediaBox [0 0 700 700] /Contents 4 0 R >> endobj"
        echo "4 0 obj << /Length ${#content} >> stream"
        echo "$content"
        echo "endstream endobj"
        echo "trailer << /Root 1 0 R >>"
    } >"$results/table.pdf"
    pdftoppm -r 288 -png -singlefile "$results/table.pdf" "$1" 2>"$results/poppler" || fail "pdftoppm made no table"
}

# lies FOLDER NAME...: FOLDER holds exactly these, none of them empty.
lies() {
    folder=$1
    shift
    [ "$(ls -A "$folder" | tr '\n' ' ')" = "$* " ] || fail "$folder holds $(ls -A "$folder" | tr '\n' ' ')instead of $*"
    for name in "$@"; do
        [ -s "$folder/$name" ] || fail "$folder/$name is empty"
    done
}

mkdir photos
table photos/table

# Over: 1. The folder is the photo's name and place; the printed text names it; the warning (no profile) is on standard
# error with the photo's name, and no terminal tricks are anywhere.
run 1 inspect photos/table.png --tolerance 1
prints "photos/table.seams"
says "photos/table.png: warning: "
! grep -q "$(printf '[\033\r]')" "$results/out" "$results/err" || fail "terminal characters outside a terminal"
grep -c . "$results/err" >"$results/lines"
grep -c '^photos/table.png: warning: ' "$results/err" | cmp -s - "$results/lines" || fail "standard error is not all warnings"
[ "$(ls photos | tr '\n' ' ')" = "table.png table.seams " ] || fail "photos holds $(ls photos | tr '\n' ' ')"
lies photos/table.seams edges.csv inspection.json overlay.png plan.json report.html seams.csv seams.jpg strips.pdf table.jpg
prints "Report: photos/table.seams/report.html"
knows photos/table.seams/report.html '{"open":"report",'
knows photos/table.seams/report.html '"format":"seamwright-plan"'

# Within: 0. Short option, folder of one's own, figures only.
run 0 inspect photos/table.png -t 10 --no-pictures -o results/
prints "results"
lies results edges.csv inspection.json seams.csv
rows=$(wc -l <results/seams.csv)

# An older inspection is replaced whole: no overlay is left from before. Stations are as far apart as --step says.
run 0 inspect --no-pictures --tolerance=10 --step=5 --output=photos/table.seams photos/table.png
lies photos/table.seams edges.csv inspection.json seams.csv
few=$(wc -l <photos/table.seams/seams.csv)
if [ $((few * 4)) -ge "$rows" ] || [ $((few * 6)) -le "$rows" ]; then
    fail "--step 5: $few rows, where 1 mm gives $rows"
fi

# Through a link the folder behind it is replaced, and the link stays.
ln -s results link
run 0 inspect photos/table.png -t 10 --no-pictures -o link
[ -L link ] || fail "the link was replaced"
lies results edges.csv inspection.json seams.csv

# What the user says about table and card reaches the measuring: a right statement does no harm, a wrong one is refused.
run 0 inspect photos/table.png -t 10 --no-pictures -o results --tile 300 --table 2x2 --reference 100/60 --height 45
grep -q '"height_mm": 45' results/inspection.json || fail "--height did not arrive"
refuse "table.png: " inspect photos/table.png -t 10 --no-pictures -o results --reference 40

# Heights tile by tile: into the tiles of inspection.json; a tile the table lacks and heights too far apart are refused. Nothing is
# said of steps when all heights are given, and something when they are not.
run 0 inspect photos/table.png -t 10 --no-pictures -o results --height 45,B2=46.5
grep -q '"height_mm": 45' results/inspection.json || fail "the usual height did not arrive"
grep -q '"height_mm": 1.5' results/inspection.json || fail "the height of B2 did not arrive"
grep -q '"step_mm": -1.5' results/inspection.json || fail "the step at B2 did not arrive"
! grep -q "lay a ruler" "$results/err" || fail "a ruler is asked for though heights are given"
# Steps over a limit are said, with what to do; the exit status is the gaps' alone. Nobody asks: nothing is judged.
prints "The highest top, B2, stands 1.5 ± 0.3 mm above the lowest, A1"
! grep -q "Lippage" "$results/out" || fail "steps are judged though nobody asked"
grep -q '"lippage_mm": null' results/inspection.json || fail "a limit nobody gave is not null"
run 0 inspect photos/table.png -t 10 --no-pictures -o results --height 45,B2=46.5 --lippage 1
prints "Lippage: 2 of 4 steps are over 1 mm; the largest is 1.5 ± 0.3 mm"
prints "plane B2 down by 0.8 mm"
grep -q '"step_verdict": "over"' results/inspection.json || fail "the step's verdict did not arrive"
grep -q '"action": "plane down"' results/inspection.json || fail "the advice on tops did not arrive"
run 0 inspect photos/table.png -t 10 --no-pictures -o results --height 45,B2=46.5 --lippage=3
prints "Lippage: All steps are within 3 mm"
run 0 inspect photos/table.png -t 10 --no-pictures -o results --lippage 1
prints "Lippage: Steps are not known"
refuse "--lippage 0.01: it must be from 0.1 to 20 mm" inspect photos/table.png -o results --lippage 0.01
refuse "leave the unit out" inspect photos/table.png -o results --lippage 1mm
run 0 inspect photos/table.png -t 10 --no-pictures -o results --height A1=45,b2=46.5
says "No height was given for 2 of the tiles: taken as 45 mm"
run 0 inspect photos/table.png -t 10 --no-pictures -o results
grep -q '"height_mm": null' results/inspection.json || fail "a height nobody gave is not null"
refuse "table.png: --height names tile C1, but the table in the picture has 2 x 2 tiles, A1 to B2" \
    inspect photos/table.png -t 10 --no-pictures -o results --height 45,C1=50
refuse "the heights differ by 40 mm" inspect photos/table.png -t 10 --no-pictures -o results --height 45,A1=85

# On a terminal there is a progress line, gone at the end, and no colour, with NO_COLOR or without.
for colour in 0 1; do
    if [ $colour -eq 1 ]; then unset NO_COLOR; else export NO_COLOR=1; fi
    script -qec "'$program' inspect photos/table.png -t 10 --no-pictures -o results" /dev/null </dev/null \
        >"$results/terminal" 2>&1
    grep -q ": *[0-9]* %" "$results/terminal" || fail "no progress on a terminal"
    ! grep -q "$(printf '\033')" "$results/terminal" || fail "an escape sequence on a terminal"
done

# Standard output full: the results are there, the user hears about the summary.
if [ -w /dev/full ]; then
    "$program" inspect photos/table.png -t 10 --no-pictures -o results >/dev/full 2>"$results/err"
    [ $? -eq 2 ] || fail "standard output full: not exit status 2"
    grep -q "^standard output: " "$results/err" || fail "standard output full: no message"
fi
holds photos results link
finish
