# seamwright lens: its options, what it refuses before and after looking at photos, and where progress is shown.
. "$2/tests/cli/tools/check.sh"

# Three equal pictures of a checkerboard straight on: it is found in each, but they are too alike to tell a lens from.
run 0 card -o board.pdf --checkerboard 10x7 --square 25
pdftoppm -r 100 -png -singlefile board.pdf a
cp a.png b.png
cp a.png c.png
echo "no photo" >d.png

refuse "say where to put the profile" lens
refuse "say where to put the profile" lens a.png b.png c.png
refuse "at least 3 photos" lens -o phone.lens.json
refuse "2 given" lens -o phone.lens.json a.png b.png
refuse "10 squares across, 7 down" lens -o phone.lens.json --checkerboard 10 a.png b.png c.png
refuse "4 to 40 squares" lens -o phone.lens.json --checkerboard=2x2 a.png b.png c.png
refuse "leave the unit out" lens -o phone.lens.json --square 25mm a.png b.png c.png
refuse "from 3 to 200 mm" lens -o phone.lens.json -s 250 a.png b.png c.png
refuse "needs a value" lens a.png b.png c.png --output

# A place that cannot be written is said before any photo is looked at: these are no photos.
mkdir folder
refuse "folder: there is a folder" lens -o folder d.png d.png d.png
refuse "make its folder first" lens -o none/phone.lens.json d.png d.png d.png

# Photos that do not do.
refuse "none" lens -o phone.lens.json none1.png none2.png none3.png
refuse ": " lens -o phone.lens.json d.png d.png d.png
refuse ": " lens -o phone.lens.json a.png b.png c.png
refuse ": " lens -o phone.lens.json -c 10x7 -s 25 a.png b.png c.png
refuse ": " lens -o phone.lens.json --checkerboard 9x6 --square 25 a.png b.png c.png

# An older profile survives a failure.
echo old >phone.lens.json
refuse ": " lens --output phone.lens.json a.png b.png c.png
[ "$(cat phone.lens.json)" = old ] || fail "the older profile was touched"

# A progress line only where somebody reads it, and no colour there either.
run 2 lens -o x.json a.png b.png c.png
! grep -q "photo 1 of 3" "$results/err" || fail "progress in a file"
# Options to `script` as in util-linux; it gives the program a terminal.
for colour in 0 1; do
    if [ $colour -eq 1 ]; then unset NO_COLOR; else export NO_COLOR=1; fi
    script -qec "'$program' lens -o x.json a.png b.png c.png" /dev/null </dev/null >"$results/terminal" 2>&1
    grep -q "photo 1 of 3" "$results/terminal" || fail "no progress on a terminal"
    ! grep -q "$(printf '\033')" "$results/terminal" || fail "an escape sequence on a terminal"
done
finish
