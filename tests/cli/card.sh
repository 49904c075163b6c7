# seamwright card: every option, what it refuses, and that a file is there whole or not at all.
. "$2/tests/cli/tools/check.sh"

# page FILE WIDTH HEIGHT: one page of this size in points (pdfinfo rounds), and nobody's fonts needed.
page() {
    pdfinfo "$1" >"$results/info" 2>&1 || fail "$1: pdfinfo cannot read it"
    grep -q '^Pages: *1$' "$results/info" || fail "$1: not one page"
    grep -q "^Page size: *$2 x $3 " "$results/info" || fail "$1: $(grep '^Page size' "$results/info"), not $2 x $3"
    ! grep -q '^CreationDate' "$results/info" || fail "$1: holds a date, so it is never twice the same"
    pdffonts "$1" | awk 'NR > 2 && $(NF-4) != "yes" { bad = 1 } END { exit bad }' || fail "$1: a font is not embedded"
}

run 0 card -o card.pdf
says_nothing
prints "card.pdf: one page of A4 paper"
prints "100 %"
holds card.pdf
page card.pdf 595.276 841.89
: >usual
[ "$(stat -c %a card.pdf)" = "$(stat -c %a usual)" ] || fail "card.pdf has not the rights of an ordinary new file"
rm -f usual

# Twice the same card is twice the same bytes, whatever the clock says.
sleep 1
run 0 card --output=again.pdf --frame=100/60 --paper=a4
cmp -s card.pdf again.pdf || fail "two cards of the same kind differ"
run 0 card --output again.pdf -f 100/60 -p A4
cmp -s card.pdf again.pdf || fail "short options give another card"
run 0 card -oagain.pdf --frame 100/60
cmp -s card.pdf again.pdf || fail "-oFILE gives another card"

run 0 card -o again.pdf --paper letter
page again.pdf 612 792
prints "letter"
run 0 card -o again.pdf --plain 100
page again.pdf 595.276 841.89
run 0 card -o again.pdf --checkerboard 10x7 --square 25
page again.pdf 841.89 595.276
cp again.pdf board.pdf
run 0 card -o again.pdf -c 10x7 -s 25.0
cmp -s board.pdf again.pdf || fail "short options give another checkerboard"
run 0 card -o again.pdf --checkerboard 10x7
cmp -s board.pdf again.pdf || fail "25 mm are not the default square"
run 0 card -o again.pdf --checkerboard 10x7 --square 25 --paper letter
page again.pdf 792 612
# Upright board, upright page.
run 0 card -o again.pdf --checkerboard 7x10 --square 20
page again.pdf 595.276 841.89
rm -f again.pdf board.pdf

# Several cards go on as few sheets as they fit; one is what it always was.
run 0 card -o nine.pdf --frame 60/36 --count 9
prints "nine.pdf: 9 cards on A4 paper; print all pages in one run"
pdfinfo nine.pdf | grep -q '^Pages: *2$' || fail "nine small cards: not two sheets"
[ "$(pdftotext nine.pdf - | grep -c '^9 frame cards 60/36, sheet [12] of 2$')" -eq 2 ] || fail "nine.pdf: sheets are not numbered"
pdftotext nine.pdf - | tr -s ' \n' ' ' | grep -qF "use cards of one run together" || fail "nine.pdf: nothing on one print run"
run 0 card -o again.pdf -f 60/36 -n 9
cmp -s nine.pdf again.pdf || fail "-n gives other cards"
run 0 card -o again.pdf --frame 60/36 --count 9 --paper letter
pdfinfo again.pdf | grep -q '^Pages: *2$' || fail "nine small cards on letter paper: not two sheets"
run 0 card -o again.pdf --plain 60 --count 6
page again.pdf 595.276 841.89
run 0 card -o again.pdf --frame 60/36 --count 100
pdfinfo again.pdf | grep -q '^Pages: *17$' || fail "a hundred small cards: not 17 sheets"
run 0 card -o again.pdf --count 1
cmp -s card.pdf again.pdf || fail "--count 1 is not the usual card"
# Four small cards, one for each corner of the table, come on one sheet of either paper; four large ones on two.
for paper in a4 letter; do
    run 0 card -o again.pdf --frame 60/30 --count 4 --paper $paper
    pdfinfo again.pdf | grep -q '^Pages: *1$' || fail "four small cards on $paper: not one sheet"
    [ "$(pdftotext again.pdf - | grep -c '^4 frame cards 60/30, sheet 1 of 1$')" -eq 1 ] || fail "four small cards on $paper: no title"
    run 0 card -o again.pdf --count 4 --paper $paper
    pdfinfo again.pdf | grep -q '^Pages: *2$' || fail "four cards on $paper: not two sheets"
done
rm -f nine.pdf again.pdf

# The words on the card: what to do, in the option's own form, with figures of this card.
pdftotext -layout card.pdf "$results/text"
for words in "Print at 100 %" "no fit to page" "Measure both sides with a caliper and tell the program" \
    "--reference 99.6x99.8/59.7x59.9" "Glue it flat" "blade" "100 mm"; do
    tr -s ' \n' ' ' <"$results/text" | grep -qF -e "$words" || fail "card.pdf does not say \"$words\""
done
# The example is one the parser takes: the option is right, only the photo is missing.
refuse "none.jpg: " inspect none.jpg --reference 99.6x99.8/59.7x59.9

# The commands that calib/README.md says its sheets were made with make them.
mkdir sheets
sed -n 's/^ *seamwright \(card .*\)/\1/p' "$source/calib/README.md" >"$results/commands"
[ -s "$results/commands" ] || fail "calib/README.md: no commands in it"
while read -r arguments; do
    # shellcheck disable=SC2086 # words of a command line
    (cd sheets && run 0 $arguments && [ "$failures" -eq 0 ]) || fail "calib/README.md: $arguments"
done <"$results/commands"
for sheet in "$source"/calib/*.pdf; do
    [ -s "sheets/${sheet##*/}" ] || fail "calib/README.md does not say how ${sheet##*/} was made"
done
rm -r sheets

# What it refuses.
refuse "say where to put the card" card
refuse "choose one of --frame, --plain and --checkerboard" card -o x.pdf --plain 100 --frame 100/60
refuse "choose one of --frame, --plain and --checkerboard" card -o x.pdf --plain 100 -c 10x7
refuse "--square belongs to --checkerboard" card -o x.pdf --square 25
refuse "leave the unit out" card -o x.pdf --frame 100mm/60mm
refuse "a frame has two sides" card -o x.pdf --frame 100
refuse "a plain square has one side" card -o x.pdf --plain 100/60
refuse "a card is drawn square" card -o x.pdf --frame 99.6x99.8/60
refuse "outer side first" card -o x.pdf --frame 60/100
refuse "a checkerboard needs 4 to 40 squares each way" card -o x.pdf --checkerboard 3x3
refuse "from 3 to 200 mm" card -o x.pdf --checkerboard 10x7 --square 0.5
refuse "the paper must be a4 or letter" card -o x.pdf --paper a3
refuse "what is 'more.pdf' for" card -o x.pdf more.pdf
refuse "needs a value" card -o x.pdf --paper
refuse "does not fit on A4 paper (210 x 297 mm)" card -o x.pdf --plain 200
refuse "does not fit on A4 paper (210 x 297 mm)" card -o x.pdf --checkerboard 12x8
refuse "does not fit on letter paper" card -o x.pdf --checkerboard 10x7 --square 26 --paper letter

for count in 0 101 9.5 nine -3; do
    refuse "it must be a whole number from 1 to 100, like 9" card -o x.pdf "--count=$count"
done
refuse "--count is for cards" card -o x.pdf --checkerboard 10x7 --count 2
refuse "does not fit on A4 paper (210 x 297 mm)" card -o x.pdf --plain 200 --count 2

# Places that cannot be written.
mkdir folder
refuse "folder: there is a folder" card -o folder
refuse "folder/: name a file" card -o folder/
for name in x.png x x.pdf.png .pdf/x; do
    [ "$name" = .pdf/x ] && mkdir .pdf
    refuse "$name: a card is written as PDF, which prints at true size; give a name that ends in .pdf" card -o "$name"
done
rmdir .pdf
run 0 card -o X.PDF
rm X.PDF
refuse "make its folder first" card -o none/card.pdf
refuse "name a file" card -o ""
mkfifo pipe
refuse "pipe: there is a device or pipe" card -o pipe

# A full disk: the program's writes fail past 4 kB; nothing is left, and an older card stays as it was.
cp card.pdf old.pdf
# shellcheck disable=SC3045 # dash, bash and busybox have ulimit -f
(trap '' XFSZ && ulimit -f 8 && exec "$program" card -o old.pdf) >"$results/out" 2>"$results/err"
[ $? -eq 2 ] || fail "card on a full disk: not exit status 2"
grep -q '^old.pdf: ' "$results/err" || fail "card on a full disk: no message"
cmp -s card.pdf old.pdf || fail "card on a full disk: the older card is gone"
holds card.pdf old.pdf folder pipe

# Replacing is whole, too.
run 0 card -o old.pdf --plain 80
! cmp -s card.pdf old.pdf || fail "the older card was not replaced"
holds card.pdf old.pdf folder pipe
finish
